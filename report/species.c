/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Configured rules with their sources; see species.h.
 */
#include "report/species.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "conf/daypart.h"
#include "conf/layout.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/season.h"

static bool says_anything(const struct rule *rule)
{
	return rule->has_band || rule->has_limits;
}

bool has_place(const struct species *species, enum place place)
{
	return says_anything(&species->rules[place][TEMPERATURE]) ||
	       says_anything(&species->rules[place][HUMIDITY]);
}

bool is_range(enum source_key key)
{
	return key == SOURCE_DAY || key == SOURCE_NIGHT || key == SOURCE_LIMITS;
}

struct range rule_range(const struct rule *rule, enum source_key key)
{
	return key == SOURCE_LIMITS ? rule->limits : key == SOURCE_DAY ? rule->day : rule->night;
}

double rule_duration(const struct rule *rule, enum source_key key)
{
	return key == SOURCE_DAILY		? rule->daily
	       : key == SOURCE_LIMITS_PATIENCE ? rule->limits_patience
					       : rule->patience;
}

const char *speaker_word(enum speaker speaker)
{
	static const char *const words[] = { [BUILT_IN] = "built in", [SPECIES_SAYS] = "species",
					     [ENCLOSURE_SAYS] = "enclosure" };

	return words[speaker];
}

/* "15 Nov": month and day in figures are read two ways. */
static char *year_day(struct month_day day, char buf[MEASURE_TEXT])
{
	struct tm tm = { .tm_mon = day.month - 1, .tm_mday = day.day };

	strftime(buf, MEASURE_TEXT, "%-d %b", &tm);
	return buf;
}

/* "14 Mar 2026", of days since 1970-01-01. */
static char *full_day(int date, char buf[MEASURE_TEXT])
{
	time_t noon = (time_t)date * 86400 + 43200;
	struct tm tm;

	gmtime_r(&noon, &tm);
	strftime(buf, MEASURE_TEXT, "%-d %b %Y", &tm);
	return buf;
}

char *dates_text(const struct season_dates *dates)
{
	char *ramp = dates->ramp ? must_print(", coming and going in %d day%s", dates->ramp,
					      dates->ramp == 1 ? "" : "s")
				 : must_copy("");
	char from[MEASURE_TEXT], until[MEASURE_TEXT];
	char *text = NULL;

	switch (dates->kind) {
	case UNDATED:
		text = must_copy("without dates");
		break;
	case YEARLY:
		text = must_print("%s to %s%s", year_day(dates->first, from),
				  year_day(dates->last, until), ramp);
		break;
	case ONCE:
		text = dates->has_from ? must_print("%s to %s%s", full_day(dates->from, from),
						    full_day(dates->until, until), ramp)
				       : must_print("until %s", full_day(dates->until, until));
		break;
	}
	free(ramp);
	return text;
}

/* ---- rules ------------------------------------------------------------------ */

static struct told *add(struct telling *telling, struct told told)
{
	telling->list = must_resize(telling->list, telling->count + 1, sizeof *telling->list);
	telling->list[telling->count] = told;
	return &telling->list[telling->count++];
}

static bool same_range(struct range a, struct range b)
{
	return a.low == b.low && a.high == b.high;
}

/* Whether somebody gave the rule that key. */
static bool is_given(const struct rule *rule, enum source_key key)
{
	return key == SOURCE_LIMITS		? rule->has_limits
	       : key == SOURCE_PATIENCE		? rule->has_patience
	       : key == SOURCE_DAILY		? rule->has_daily
	       : key == SOURCE_LIMITS_PATIENCE ? rule->has_limits_patience
					       : rule->has_band;
}

/* Whether the species' rule (NULL: it has none) says the same of that key. */
static bool says_too(const struct told *told, const struct rule *species, enum source_key key)
{
	if (!species || !is_given(species, key))
		return false;
	return is_range(key) ? same_range(rule_range(told->rule, key), rule_range(species, key))
			     : rule_duration(told->rule, key) == rule_duration(species, key);
}

/* What is said where values of a rule come from. */
struct sources {
	const char *species, *own; /* NULL: nothing */
};

static void fill_in(struct told *told, const struct rule *species, struct sources sources)
{
	for (int k = 0; k < SOURCE_KEYS; k++) {
		enum source_key key = (enum source_key)k;

		if (!told->has[key])
			continue;
		if (key == SOURCE_PATIENCE && !told->rule->has_patience) {
			told->by[key] = BUILT_IN;
		} else if (says_too(told, species, key)) {
			told->by[key] = SPECIES_SAYS;
			told->source[key] = source_part(sources.species, key);
		} else {
			told->by[key] = ENCLOSURE_SAYS;
			told->source[key] = source_part(sources.own, key);
		}
	}
}

/* An enclosure that gives no source of its own has taken over its species', which says
 * nothing of the enclosure's values. */
static struct sources told_apart(const char *species, const char *merged)
{
	bool own = merged && (!species || strcmp(merged, species) != 0);

	return (struct sources){ species, own ? merged : NULL };
}

static struct told ordinary(const struct rule *rule, enum place place, enum quantity quantity)
{
	return (struct told){
		.place = place, .quantity = quantity, .rule = rule,
		.has = { [SOURCE_DAY] = rule->has_band, [SOURCE_NIGHT] = rule->has_band,
			 [SOURCE_LIMITS] = rule->has_limits,
			 [SOURCE_PATIENCE] = rule->has_band, [SOURCE_DAILY] = rule->has_daily,
			 [SOURCE_LIMITS_PATIENCE] = rule->has_limits_patience },
	};
}

/* What a season says; what it leaves as it is has been told already. */
static struct told seasonal(const struct season *season, const struct season_rule *says)
{
	return (struct told){
		.season = season->name, .place = says->place, .quantity = says->quantity,
		.rule = &says->rule,
		.has = { [SOURCE_DAY] = says->day, [SOURCE_NIGHT] = says->night,
			 [SOURCE_LIMITS] = says->limits, [SOURCE_PATIENCE] = says->patience,
			 [SOURCE_DAILY] = says->daily,
			 [SOURCE_LIMITS_PATIENCE] = says->limits_patience },
	};
}

/* NULL: the season names none, and that of the ordinary values is none of its. */
static const char *season_source(const struct season_rule *says)
{
	return says && says->source ? says->rule.source : NULL;
}

struct telling species_telling(const struct species *species)
{
	struct telling telling = { 0 };

	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			const struct rule *rule = &species->rules[p][q];

			if (says_anything(rule))
				fill_in(add(&telling, ordinary(rule, (enum place)p, (enum quantity)q)),
					rule, (struct sources){ rule->source, NULL });
		}
	for (size_t i = 0; i < species->season_count; i++)
		for (size_t r = 0; r < species->seasons[i].rule_count; r++) {
			const struct season_rule *says = &species->seasons[i].rules[r];

			fill_in(add(&telling, seasonal(&species->seasons[i], says)), &says->rule,
				(struct sources){ season_source(says), NULL });
		}
	return telling;
}

/* What the species says of that place in its season of that name; NULL: nothing. */
static const struct season_rule *season_of_species(const struct species *species, const char *name,
						   const struct season_rule *own)
{
	for (size_t i = 0; species && i < species->season_count; i++)
		for (size_t r = 0; r < species->seasons[i].rule_count; r++) {
			const struct season_rule *says = &species->seasons[i].rules[r];

			if (strcmp(species->seasons[i].name, name) == 0 &&
			    says->place == own->place && says->quantity == own->quantity)
				return says;
		}
	return NULL;
}

static void add_season(struct telling *telling, const struct season *season,
		       const struct species *species, struct series series)
{
	for (size_t r = 0; r < season->rule_count; r++) {
		const struct season_rule *says = &season->rules[r];
		const struct season_rule *theirs = season_of_species(species, season->name, says);

		if (says->place == series.place && says->quantity == series.quantity)
			fill_in(add(telling, seasonal(season, says)), theirs ? &theirs->rule : NULL,
				told_apart(season_source(theirs), season_source(says)));
	}
}

/* Whether a season changes the rule on that keeper's day; then what it is that day. */
static bool find_today(struct told *told, int date)
{
	const struct rule *rule;

	for (size_t i = 0; i < told->rule->season_count; i++)
		told->in_season |= season_weight(told->rule->seasons[i].dates, date) > 0;
	if (!told->in_season)
		return false;
	rule = rule_on(told->rule, date, &told->today);
	if (rule != &told->today)
		told->today = *rule;
	return true;
}

struct telling enclosure_telling(const struct conf *conf, const struct enclosure *enclosure,
				 double instant)
{
	int date = daypart_at(&conf->day, instant).date;
	const struct species *species = enclosure->species;
	struct series series[MAX_SERIES];
	size_t count = enclosure_series(conf, enclosure, series);
	struct telling telling = { 0 };

	for (size_t i = 0; i < count; i++) {
		enum place place = series[i].place;
		enum quantity quantity = series[i].quantity;
		const struct rule *rule = &enclosure->places[place].rules[quantity];
		const struct rule *theirs = species ? &species->rules[place][quantity] : NULL;
		struct told told = ordinary(rule, place, quantity);

		if (find_today(&told, date) || says_anything(rule))
			fill_in(add(&telling, told), theirs,
				told_apart(theirs ? theirs->source : NULL, rule->source));
	}
	for (size_t s = 0; s < enclosure->season_count; s++)
		for (size_t i = 0; i < count; i++)
			add_season(&telling, &enclosure->seasons[s], species, series[i]);
	return telling;
}

void telling_clear(struct telling *telling)
{
	for (size_t i = 0; i < telling->count; i++)
		for (int key = 0; key < SOURCE_KEYS; key++)
			free(telling->list[i].source[key]);
	free(telling->list);
	*telling = (struct telling){ 0 };
}
