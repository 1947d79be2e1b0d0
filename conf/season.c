/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Dates, weights and the rule of a day; see season.h.
 */
#include "conf/season.h"

#include <math.h>

#include "conf/range.h"

/* Years are counted from March, so that the leap day is the last of its year,
 * and in 400s, after which the calendar repeats; the month's share of the year
 * is the usual line through 153 days in 5 months. */
int civil_day(int year, int month, int day)
{
	int y = month > 2 ? year : year - 1;
	int era = (y >= 0 ? y : y - 399) / 400;
	int year_of_era = y - era * 400;
	int day_of_year = (153 * (month > 2 ? month - 3 : month + 9) + 2) / 5 + day - 1;
	int day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;

	return era * 146097 + day_of_era - 719468;
}

int civil_year(int date)
{
	int year = 1970 + (int)floor(date / 365.2425);

	while (civil_day(year, 1, 1) > date)
		year--;
	while (civil_day(year + 1, 1, 1) <= date)
		year++;
	return year;
}

void season_of_year(const struct season_dates *dates, int year, int *from, int *to)
{
	const struct month_day first = dates->first, last = dates->last;
	bool over_new_year = last.month < first.month ||
			     (last.month == first.month && last.day <= first.day);

	*from = civil_day(year, first.month, first.day);
	*to = civil_day(year + (over_new_year ? 1 : 0), last.month, last.day);
}

/* Of a season from the one date, when it has one, to the other. */
static double weight_between(bool has_from, int from, int to, int ramp, int date)
{
	if (date >= to || (has_from && date < from))
		return 0;
	if (ramp == 0 || !has_from)
		return 1;
	return fmin(1, (double)(date - from < to - date ? date - from : to - date) / ramp);
}

double season_weight(const struct season_dates *dates, int date)
{
	switch (dates->kind) {
	case ONCE:
		return weight_between(dates->has_from, dates->from, dates->until, dates->ramp,
				      date);
	case YEARLY:
		for (int year = civil_year(date), back = 0; back < 2; back++) {
			int from, to;

			season_of_year(dates, year - back, &from, &to);
			if (from <= date && date < to)
				return weight_between(true, from, to, dates->ramp, date);
		}
		break;
	case UNDATED:
		break;
	}
	return 0;
}

static struct range mix(struct range a, struct range b, double weight)
{
	if (weight >= 1)
		return b;
	return (struct range){ a.low + weight * (b.low - a.low),
			       a.high + weight * (b.high - a.high) };
}

/* What a rule has none of cannot move.  Beside something that does it comes whole at the end
 * of the ramp and goes at the beginning of the way back: before, limits would stand where the
 * band is not yet, or the band where the limits are not. */
static bool comes(bool there, const struct rule *rule, double weight)
{
	return there || weight >= 1 || (!rule->has_band && !rule->has_limits);
}

static void apply_edges(struct rule *rule, const struct season_rule *says, double weight)
{
	const struct rule was = *rule, *to = &says->rule;

	if (says->limits && comes(was.has_limits, &was, weight)) {
		rule->limits = mix(was.limits, to->limits, was.has_limits ? weight : 1);
		rule->has_limits = true;
	}
	if (!to->has_band || !comes(was.has_band, &was, weight))
		return;
	if (says->day)
		rule->day = mix(was.day, to->day, was.has_band ? weight : 1);
	if (says->night)
		rule->night = mix(was.night, to->night, was.has_band ? weight : 1);
	rule->has_band |= says->day || says->night;
}

static void apply(struct rule *rule, const struct season_rule *says, double weight)
{
	const struct rule *to = &says->rule;

	apply_edges(rule, says, weight);
	if (says->patience)
		rule->patience = to->patience;
	if (says->limits_patience)
		rule->limits_patience = to->limits_patience;
	if (says->daily) {
		rule->has_daily = true;
		rule->daily = to->daily;
	}
	if (says->deadband)
		rule->deadband = to->deadband;
	if (says->on_delay)
		rule->on_delay = to->on_delay;
	if (says->off_delay)
		rule->off_delay = to->off_delay;
	if (says->source)
		rule->source = to->source;
}

/* Or nothing could ever be back inside by it. */
static double most_deadband(const struct rule *rule)
{
	if (rule->has_band)
		return fmin(rule->day.high - rule->day.low, rule->night.high - rule->night.low) / 2;
	return rule->has_limits ? (rule->limits.high - rule->limits.low) / 2 : INFINITY;
}

const struct rule *rule_on(const struct rule *rule, int date, struct rule *room)
{
	bool changed = false;

	if (rule->season_count == 0)
		return rule;
	*room = *rule;
	room->seasons = NULL;
	room->season_count = 0;
	for (size_t i = 0; i < rule->season_count; i++) {
		double weight = season_weight(rule->seasons[i].dates, date);

		if (weight <= 0)
			continue;
		apply(room, rule->seasons[i].says, weight);
		changed = true;
	}
	if (changed)
		room->deadband = fmin(room->deadband, most_deadband(room));
	return room;
}

bool rule_ever_has_band(const struct rule *rule)
{
	bool has = rule->has_band;

	for (size_t i = 0; i < rule->season_count; i++)
		has |= rule->seasons[i].says->rule.has_band;
	return has;
}

bool rule_ever_judges(const struct rule *rule)
{
	bool judges = rule->has_limits || rule_ever_has_band(rule);

	for (size_t i = 0; i < rule->season_count; i++)
		judges |= rule->seasons[i].says->limits;
	return judges;
}

bool rule_rests(const struct rule *ordinary, const struct rule *now)
{
	/* °C, common practice, no source: nights, and breeders' cool spells, are within; a winter
	 * rest takes ten and more away, or all of the heat. */
	static const double spell = 5, cold = 15;

	if (!now->has_band)
		return false;
	return ordinary->has_band ? range_middle(ordinary->day) - range_middle(now->day) > spell
				  : now->day.high <= cold;
}

static bool is_side(enum place place)
{
	return place == WARM_SIDE || place == COOL_SIDE;
}

bool season_rests(const struct season *season, const struct rule *ordinary[PLACES])
{
	for (size_t i = 0; i < season->rule_count; i++) {
		const struct season_rule *says = &season->rules[i];

		if (says->quantity == TEMPERATURE && is_side(says->place) &&
		    rule_rests(ordinary[says->place], &says->rule))
			return true;
	}
	return false;
}

bool enclosure_rests(const struct enclosure *enclosure, int date)
{
	static const enum place sides[] = { WARM_SIDE, COOL_SIDE };

	for (size_t i = 0; i < 2; i++) {
		const struct rule *rule = &enclosure->places[sides[i]].rules[TEMPERATURE];
		struct rule room;

		if (rule->season_count > 0 && rule_rests(rule, rule_on(rule, date, &room)))
			return true;
	}
	return false;
}

const struct season *season_moving(const struct enclosure *enclosure, enum place place,
				   enum quantity quantity, int date)
{
	const struct season *last = NULL;

	for (size_t i = 0; i < enclosure->season_count; i++) {
		const struct season *season = &enclosure->seasons[i];

		if (season_weight(&season->dates, date) <= 0)
			continue;
		for (size_t r = 0; r < season->rule_count; r++) {
			const struct season_rule *says = &season->rules[r];

			if (says->place == place && says->quantity == quantity &&
			    (says->day || says->night || says->limits))
				last = season;
		}
	}
	return last;
}

static bool dates_step(const struct season_dates *dates, int date)
{
	return season_weight(dates, date) != season_weight(dates, date - 1);
}

bool rule_steps(const struct rule *rule, int date)
{
	for (size_t i = 0; i < rule->season_count; i++)
		if (dates_step(rule->seasons[i].dates, date))
			return true;
	return false;
}

bool seasons_step(const struct conf *conf, int date)
{
	for (size_t e = 0; e < conf->enclosure_count; e++)
		for (size_t s = 0; s < conf->enclosures[e].season_count; s++)
			if (dates_step(&conf->enclosures[e].seasons[s].dates, date))
				return true;
	return false;
}
