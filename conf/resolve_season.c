/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seasons; see resolve_season.h.
 */
#include "conf/resolve_season.h"

#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/range.h"
#include "conf/resolve_advice.h"
#include "conf/season.h"

static void read_season(struct resolve *resolve, struct section section, struct season_wishes *out)
{
	out->head = section_head(section);
	out->name = take_name(resolve, section);
	out->own = true;
	out->dates = dates_read(resolve, section);
	advice_read(resolve, section, out->advice);
	wishes_read_places(resolve, section, out->wishes);
	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++)
			for (int key = 0; key < WISH_KEYS; key++)
				out->wishes[p][q].keys[key].season = out->name;
}

void seasons_read(struct resolve *resolve, struct section section, struct season_list *out)
{
	out->count = section_count(section, "season");
	out->list = must_calloc(out->count, sizeof *out->list);
	for (size_t i = 0; i < out->count; i++)
		read_season(resolve, section_at(section, "season", i), &out->list[i]);
}

/* What comes of a species' season when an enclosure speaks of it too. */
static void override(struct season_wishes *season, const struct season_wishes *own)
{
	dates_override(&season->dates, &own->dates);
	for (int i = 0; i < ADVICES; i++)
		if (own->advice[i])
			season->advice[i] = own->advice[i];
	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++)
			season->wishes[p][q] =
				wishes_override(&season->wishes[p][q], &own->wishes[p][q]);
	season->own = true;
	season->head = own->head;
}

static void disown(struct season_wishes *season)
{
	season->own = false;
	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++)
			for (int key = 0; key < WISH_KEYS; key++)
				season->wishes[p][q].keys[key].own = false;
}

/* The species' seasons in their order, overridden; then what else the enclosure has. */
static struct season_list merge(const struct season_list *species, const struct season_list *own)
{
	size_t before = species ? species->count : 0;
	struct season_list all = { must_calloc(before + own->count, sizeof *all.list), before };

	for (size_t i = 0; i < before; i++) {
		all.list[i] = species->list[i];
		disown(&all.list[i]);
	}
	for (size_t i = 0; i < own->count; i++) {
		size_t same = 0;

		while (same < before && strcmp(all.list[same].name, own->list[i].name) != 0)
			same++;
		if (same < before)
			override(&all.list[same], &own->list[i]);
		else
			all.list[all.count++] = own->list[i];
	}
	return all;
}

/* The ordinary wishes with the season's put in.  The one to be mended, when
 * two do not go together, is the season's, unless only the ordinary one is the
 * enclosure's own. */
static struct wishes put_in(const struct wishes *base, const struct wishes *season)
{
	struct wishes result = *base;
	bool own = false;

	for (int key = 0; key < WISH_KEYS; key++)
		own |= season->keys[key].said != ABSENT && season->keys[key].own;
	for (int key = 0; key < WISH_KEYS; key++) {
		if (own)
			result.keys[key].own = false;
		if (season->keys[key].said != ABSENT)
			result.keys[key] = season->keys[key];
	}
	/* As everywhere, a band without a night is one for all the time: an ordinary night would
	 * be far from what is wanted then. */
	if (season->keys[WISH_DAY].said != ABSENT && season->keys[WISH_NIGHT].said == ABSENT)
		result.keys[WISH_NIGHT].said = ABSENT;
	/* Taken over, it gives way by itself where the season's band is narrow. */
	if (season->keys[WISH_DEADBAND].said == ABSENT)
		result.keys[WISH_DEADBAND].said = ABSENT;
	return result;
}

static bool says(const struct wishes *wishes, enum wish_key key)
{
	return wishes->keys[key].said == GIVEN;
}

static bool says_anything(const struct wishes *wishes)
{
	for (int key = 0; key < WISH_KEYS; key++)
		if (wishes->keys[key].said != ABSENT)
			return true;
	return false;
}

static struct season_rule rule_of(struct resolve *resolve, const struct wishes *base,
				  const struct wishes *own, bool of_enclosure, enum place place,
				  enum quantity quantity)
{
	struct wishes all = put_in(base, own);
	struct season_rule rule = {
		.place = place,
		.quantity = quantity,
		.day = says(own, WISH_DAY),
		.night = says(own, WISH_NIGHT) || says(own, WISH_DAY),
		.limits = says(own, WISH_LIMITS),
		.patience = says(own, WISH_PATIENCE),
		.limits_patience = says(own, WISH_LIMITS_PATIENCE),
		.daily = says(own, WISH_DAILY),
		.deadband = says(own, WISH_DEADBAND),
		.on_delay = says(own, WISH_ON_DELAY),
		.off_delay = says(own, WISH_OFF_DELAY),
		.source = says(own, WISH_SOURCE),
	};

	/* The day may be what each enclosure gives. */
	if (!of_enclosure && all.keys[WISH_DAY].said == ABSENT)
		all.keys[WISH_NIGHT].said = ABSENT;
	rule.rule = rule_from_wishes(resolve, &all, quantity);
	return rule;
}

static struct season season_of(struct resolve *resolve, const struct season_wishes *wishes,
			       struct wishes base[PLACES][QUANTITIES], bool of_enclosure)
{
	struct season season = {
		.name = must_copy(wishes->name),
		.dates = dates_finish(resolve, &wishes->dates),
		.rules = must_calloc((size_t)PLACES * QUANTITIES, sizeof *season.rules),
	};

	advice_keep(wishes->advice, season.advice);
	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++)
			if (says_anything(&wishes->wishes[p][q]))
				season.rules[season.rule_count++] =
					rule_of(resolve, &base[p][q], &wishes->wishes[p][q],
						of_enclosure, (enum place)p, (enum quantity)q);
	season.rules = must_resize(season.rules, season.rule_count, sizeof *season.rules);
	return season;
}

struct season *seasons_of_species(struct resolve *resolve, const struct season_list *list,
				  struct wishes base[PLACES][QUANTITIES], size_t *count)
{
	struct season *seasons = must_calloc(list->count, sizeof *seasons);

	*count = list->count;
	for (size_t i = 0; i < list->count; i++)
		seasons[i] = season_of(resolve, &list->list[i], base, false);
	return seasons;
}

static void hang(struct enclosure *enclosure, const struct season *season)
{
	for (size_t i = 0; i < season->rule_count; i++) {
		const struct season_rule *says = &season->rules[i];
		struct rule *rule = &enclosure->places[says->place].rules[says->quantity];

		rule->seasons = must_resize(rule->seasons, rule->season_count + 1,
					    sizeof *rule->seasons);
		rule->seasons[rule->season_count++] = (struct rule_season){ &season->dates, says };
	}
}

/* Complains when the rule of that day, of several seasons, cannot be.  `last` is
 * the one applied last, `other` one it changes. */
static bool check_day(struct resolve *resolve, const struct rule *rule, enum quantity quantity,
		      int date, const struct season_wishes *last, const struct season_wishes *other)
{
	char band[MEASURE_TEXT], limits[MEASURE_TEXT], day[MEASURE_TEXT];
	enum units units = resolve->conf->units;
	struct rule room;
	const struct rule *now = rule_on(rule, date, &room);

	if (!now->has_band || !now->has_limits ||
	    (range_within(now->day, now->limits) && range_within(now->night, now->limits)))
		return true;
	complain(resolve, last->head,
		 "on %s season \"%s\" is in force too, and the band of both, %s, would lie outside "
		 "the limits of both, %s; give both band and limits in each, or dates that do not "
		 "meet",
		 show_date(date, day), other->name,
		 show_range(range_within(now->day, now->limits) ? now->night : now->day, quantity,
			    units, band),
		 show_range(now->limits, quantity, units, limits));
	return false;
}

/* Of seasons that meet, each is good by itself, but both together may not be. */
static bool check_days(struct resolve *resolve, const struct rule *rule, enum quantity quantity,
		       const struct season_wishes *const *wishes, int from, int to)
{
	for (int date = from; date < to; date++) {
		const struct season_wishes *last = NULL, *other = NULL;

		for (size_t i = 0; i < rule->season_count; i++)
			if (season_weight(rule->seasons[i].dates, date) > 0) {
				other = last;
				last = wishes[i];
			}
		if (other && !check_day(resolve, rule, quantity, date, last, other))
			return false;
	}
	return true;
}

/* Four years hold every case of what comes every year. */
static void check_together(struct resolve *resolve, const struct rule *rule, enum quantity quantity,
			   const struct season_wishes *const *wishes)
{
	enum { FOUR_YEARS = 1461 };
	const int leap_year = civil_day(2024, 1, 1);
	bool good = check_days(resolve, rule, quantity, wishes, leap_year, leap_year + FOUR_YEARS);

	for (size_t i = 0; good && i < rule->season_count; i++) {
		const struct season_dates *dates = rule->seasons[i].dates;
		int from = dates->until - FOUR_YEARS;

		if (dates->has_from && dates->from > from)
			from = dates->from;
		if (dates->kind == ONCE)
			good = check_days(resolve, rule, quantity, wishes, from, dates->until);
	}
}

/* wishes: of each of the enclosure's seasons. */
static void check_rules(struct resolve *resolve, const struct enclosure *enclosure,
			const struct season_wishes *const *wishes)
{
	const struct season_wishes **of_rule = must_calloc(enclosure->season_count, sizeof *of_rule);

	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			const struct rule *rule = &enclosure->places[p].rules[q];

			for (size_t i = 0, s = 0; i < rule->season_count; s++)
				if (rule->seasons[i].dates == &enclosure->seasons[s].dates)
					of_rule[i++] = wishes[s];
			if (rule->season_count > 1)
				check_together(resolve, rule, (enum quantity)q, of_rule);
		}
	free(of_rule);
}

void seasons_of_enclosure(struct resolve *resolve, struct section section,
			  const struct season_list *species,
			  struct wishes base[PLACES][QUANTITIES], struct enclosure *enclosure)
{
	const struct season_wishes **wishes;
	struct season_list own, all;

	seasons_read(resolve, section, &own);
	all = merge(species, &own);
	wishes = must_calloc(all.count, sizeof *wishes);
	enclosure->seasons = must_calloc(all.count, sizeof *enclosure->seasons);
	for (size_t i = 0; i < all.count; i++) {
		/* A profile of the species' that nobody here speaks of. */
		if (!all.list[i].own && dates_kind(&all.list[i].dates) == UNDATED)
			continue;
		wishes[enclosure->season_count] = &all.list[i];
		enclosure->seasons[enclosure->season_count++] =
			season_of(resolve, &all.list[i], base, true);
	}
	for (size_t i = 0; i < enclosure->season_count; i++)
		if (enclosure->seasons[i].dates.kind != UNDATED)
			hang(enclosure, &enclosure->seasons[i]);
	check_rules(resolve, enclosure, wishes);
	free(wishes);
	free(all.list);
	free(own.list);
}
