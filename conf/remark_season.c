/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seasons that are likely to be slips; see remark_season.h.
 */
#include "conf/remark_season.h"

#include "conf/daypart.h"
#include "conf/layout.h"
#include "conf/measure.h"
#include "conf/season.h"
#include "conf/words.h"

static bool advises(const struct season *season)
{
	for (int i = 0; i < ADVICES; i++)
		if (season->advice[i])
			return true;
	return false;
}

/* A year mistyped looks like care that holds. */
static void remark_over(const struct conf *conf, const struct enclosure *enclosure,
			const struct season *season, double now, struct faults *remarks)
{
	char day[MEASURE_TEXT];

	if (season->dates.kind == ONCE &&
	    daypart_at(&conf->day, now).date >= season->dates.until)
		fault_add(remarks, "", 0,
			  "season \"%s\" of enclosure \"%s\" is over since %s: take it away, or is "
			  "the year a slip?",
			  season->name, enclosure->name, show_date(season->dates.until, day));
}

static void remark_idle(const struct enclosure *enclosure, const struct season *season,
			struct faults *remarks)
{
	if (season->dates.kind == UNDATED)
		fault_add(remarks, "", 0,
			  "season \"%s\" of enclosure \"%s\" is never in force: it has no dates",
			  season->name, enclosure->name);
	if (season->rule_count == 0 && !advises(season))
		fault_add(remarks, "", 0,
			  "season \"%s\" of enclosure \"%s\" changes nothing: it says nothing of "
			  "any place%s",
			  season->name, enclosure->name,
			  enclosure->species ? ", and its species has no season of that name" : "");
}

static const struct rule *ordinary_rule(const struct enclosure *enclosure, enum place place)
{
	return &enclosure->places[place].rules[TEMPERATURE];
}

/* What the season makes of the temperature there; NULL: it leaves its day as it is. */
static const struct rule *moved(const struct season *season, enum place place)
{
	for (size_t r = 0; r < season->rule_count; r++)
		if (season->rules[r].place == place && season->rules[r].quantity == TEMPERATURE &&
		    season->rules[r].day)
			return &season->rules[r].rule;
	return NULL;
}

/* An animal that rests at one place does not bask at another. */
static void remark_half(const struct conf *conf, const struct enclosure *enclosure,
			const struct season *season, struct faults *remarks)
{
	enum place rests = PLACES;

	for (int p = 0; p < PLACES && rests == PLACES; p++) {
		enum place place = (enum place)p;
		const struct rule *now = moved(season, place);

		if (now && has_series(conf, enclosure, place, TEMPERATURE) &&
		    rule_rests(ordinary_rule(enclosure, place), now))
			rests = place;
	}
	for (int p = 0; p < PLACES && rests != PLACES; p++) {
		enum place place = (enum place)p;

		if (!moved(season, place) && ordinary_rule(enclosure, place)->has_band &&
		    has_series(conf, enclosure, place, TEMPERATURE))
			fault_add(remarks, "", 0,
				  "season \"%s\" of enclosure \"%s\" moves its %s and leaves its %s "
				  "as it is: give that a band in the season too",
				  season->name, enclosure->name, place_phrase(rests),
				  place_phrase(place));
	}
}

void remark_seasons(const struct conf *conf, const struct enclosure *enclosure, double now,
		    struct faults *remarks)
{
	for (size_t i = 0; i < enclosure->season_count; i++) {
		remark_over(conf, enclosure, &enclosure->seasons[i], now, remarks);
		remark_idle(enclosure, &enclosure->seasons[i], remarks);
		remark_half(conf, enclosure, &enclosure->seasons[i], remarks);
	}
}
