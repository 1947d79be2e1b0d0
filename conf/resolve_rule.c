/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rules; see resolve_rule.h.
 */
#include "conf/resolve_rule.h"

#include <math.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/range.h"
#include "conf/words.h"

/* What a keeper who says nothing gets. */
static const double patience[QUANTITIES] = { 3600, 12 * 3600.0 }; /* s */
static const double limits_patience = 2 * 3600;                   /* s */
static const double deadband[QUANTITIES] = { 0.5, 3 };            /* °C, % */
static const double off_delay = 300;                              /* s */

static const double longest_patience = 30 * 86400.0, longest_delay = 86400; /* s */

/* An allowance of a whole day would never be used up. */
static const double least_daily = 60, most_daily = 24 * 3600.0 - 60; /* s */

static struct wish read_range(struct resolve *resolve, struct section section, const char *key,
			      enum quantity quantity)
{
	struct wish wish = { .own = true, .at = section_value(section, key) };

	wish.said = take_range(resolve, section, key, quantity, &wish.range);
	return wish;
}

static struct wish read_duration(struct resolve *resolve, struct section section, const char *key,
				 double least, double most)
{
	struct wish wish = { .own = true, .at = section_value(section, key) };

	wish.said = take_duration(resolve, section, key, least, most, &wish.number);
	return wish;
}

static struct wish read_deadband(struct resolve *resolve, struct section section,
				 enum quantity quantity)
{
	struct wish wish = { .own = true, .at = section_value(section, "deadband") };
	char buf[SHOWN_TEXT];

	if (!wish.at)
		return wish;
	wish.said = wish.at->spoiled ? FAULTY : GIVEN;
	if (wish.said == GIVEN &&
	    (!parse_difference(wish.at->text, quantity, &wish.number) || wish.number < 0)) {
		complain(resolve, wish.at, "%s is no deadband; write a difference like %s",
			 shown(wish.at, buf),
			 quantity == TEMPERATURE ? "\"0.5 C\" or \"1 F\"" : "\"3 %\"");
		wish.said = FAULTY;
	}
	return wish;
}

static struct wish read_source(struct resolve *resolve, struct section section)
{
	struct wish wish = { .own = true, .at = section_value(section, "source") };

	wish.said = take_text(resolve, section, "source", 400, &wish.text);
	return wish;
}

static struct wishes read_quantity(struct resolve *resolve, struct section section,
				   enum quantity quantity)
{
	struct wishes wishes = { {
		[WISH_DAY] = read_range(resolve, section, "day", quantity),
		[WISH_NIGHT] = read_range(resolve, section, "night", quantity),
		[WISH_LIMITS] = read_range(resolve, section, "limits", quantity),
		[WISH_PATIENCE] = read_duration(resolve, section, "patience", 0, longest_patience),
		[WISH_LIMITS_PATIENCE] =
			read_duration(resolve, section, "limits_patience", 0, longest_patience),
		[WISH_DAILY] = read_duration(resolve, section, "daily", least_daily, most_daily),
		[WISH_DEADBAND] = read_deadband(resolve, section, quantity),
		[WISH_ON_DELAY] = read_duration(resolve, section, "on_delay", 0, longest_delay),
		[WISH_OFF_DELAY] = read_duration(resolve, section, "off_delay", 0, longest_delay),
		[WISH_SOURCE] = read_source(resolve, section),
	} };

	return wishes;
}

void wishes_read(struct resolve *resolve, struct section place, struct wishes out[QUANTITIES])
{
	for (int q = 0; q < QUANTITIES; q++) {
		const char *word = quantity_word((enum quantity)q);

		if (section_count(place, word) > 0)
			out[q] = read_quantity(resolve, section_at(place, word, 0),
					       (enum quantity)q);
	}
}

void wishes_read_places(struct resolve *resolve, struct section section,
			struct wishes out[PLACES][QUANTITIES])
{
	for (int p = 0; p < PLACES; p++) {
		const char *word = place_word((enum place)p);

		if (section_count(section, word) > 0)
			wishes_read(resolve, section_at(section, word, 0), out[p]);
	}
}

struct wishes wishes_override(const struct wishes *species, const struct wishes *own)
{
	struct wishes result = *species;

	for (int key = 0; key < WISH_KEYS; key++) {
		result.keys[key].own = false;
		if (own->keys[key].said != ABSENT)
			result.keys[key] = own->keys[key];
	}
	return result;
}

/* Of two values that do not go together, the one to be mended: the
 * enclosure's own before what it takes over, else the first. */
static const struct statement *to_mend(const struct wish *first, const struct wish *second)
{
	return !first->own && second->own ? second->at : first->at;
}

static void check_inside(struct resolve *resolve, const struct wish *band,
			 const struct wish *limits, enum quantity quantity)
{
	char band_text[MEASURE_TEXT], limits_text[MEASURE_TEXT];
	enum units units = resolve->conf->units;
	const char *season = band->season ? band->season : limits->season;
	bool unsaid = season && !(to_mend(band, limits) == band->at ? band : limits)->season;

	if (band->said != GIVEN || limits->said != GIVEN ||
	    range_within(band->range, limits->range))
		return;
	complain(resolve, to_mend(band, limits), "%s %s must lie within the limits, %s%s%s%s",
		 band->at->name, show_range(band->range, quantity, units, band_text),
		 show_range(limits->range, quantity, units, limits_text),
		 unsaid ? ", in season \"" : "", unsaid ? season : "", unsaid ? "\" too" : "");
}

/* The deadband in use: as given, or the usual one, but never more than
 * half the narrower band, or nothing could ever be back inside by it. */
static double choose_deadband(struct resolve *resolve, const struct wishes *wishes,
			      const struct rule *rule, enum quantity quantity)
{
	const struct wish *wish = &wishes->keys[WISH_DEADBAND];
	const struct wish *day = &wishes->keys[WISH_DAY], *night = &wishes->keys[WISH_NIGHT];
	const struct wish *narrower = day;
	enum units units = resolve->conf->units;
	char text[MEASURE_TEXT], band[MEASURE_TEXT];
	double half;

	if (!rule->has_band && !rule->has_limits)
		return wish->said == GIVEN ? wish->number : deadband[quantity];
	if (!rule->has_band)
		narrower = &wishes->keys[WISH_LIMITS];
	half = rule->has_band ? (rule->day.high - rule->day.low) / 2
			      : (rule->limits.high - rule->limits.low) / 2;
	if (rule->has_band && night->said == GIVEN && (rule->night.high - rule->night.low) / 2 < half) {
		half = (rule->night.high - rule->night.low) / 2;
		narrower = night;
	}
	if (wish->said != GIVEN)
		return fmin(deadband[quantity], half);
	if (wish->number > half)
		complain(resolve, to_mend(wish, narrower),
			 "deadband %s must be at most half the width of %s %s",
			 show_difference(wish->number, quantity, units, text), narrower->at->name,
			 show_range(narrower->range, quantity, units, band));
	return wish->number;
}

static double number_or(const struct wish *wish, double otherwise)
{
	return wish->said == GIVEN ? wish->number : otherwise;
}

struct rule rule_from_wishes(struct resolve *resolve, const struct wishes *wishes,
			     enum quantity quantity)
{
	const struct wish *keys = wishes->keys;
	const struct wish *day = &keys[WISH_DAY], *night = &keys[WISH_NIGHT];
	struct rule rule = {
		.has_band = day->said == GIVEN && night->said != FAULTY,
		.has_limits = keys[WISH_LIMITS].said == GIVEN,
		.day = day->range,
		.night = night->said == GIVEN ? night->range : day->range,
		.limits = keys[WISH_LIMITS].range,
		.has_patience = keys[WISH_PATIENCE].said == GIVEN,
		.patience = number_or(&keys[WISH_PATIENCE], patience[quantity]),
		.has_limits_patience = keys[WISH_LIMITS_PATIENCE].said == GIVEN,
		.limits_patience = number_or(&keys[WISH_LIMITS_PATIENCE], limits_patience),
		.has_daily = keys[WISH_DAILY].said == GIVEN,
		.daily = number_or(&keys[WISH_DAILY], 0),
		.on_delay = number_or(&keys[WISH_ON_DELAY], 0),
		.off_delay = number_or(&keys[WISH_OFF_DELAY], off_delay),
	};

	if (night->said == GIVEN && day->said == ABSENT)
		complain(resolve, night->at, "night is given without day; write day = \"...\" too");
	check_inside(resolve, day, &keys[WISH_LIMITS], quantity);
	check_inside(resolve, night, &keys[WISH_LIMITS], quantity);
	rule.deadband = choose_deadband(resolve, wishes, &rule, quantity);
	if (keys[WISH_SOURCE].said == GIVEN)
		rule.source = must_copy(keys[WISH_SOURCE].text);
	return rule;
}
