/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Own values beyond a species' limits; see remark_species.h.
 */
#include "conf/remark_species.h"

#include <stdlib.h>
#include <string.h>

#include "conf/layout.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/range.h"
#include "conf/words.h"

/* Where and when a rule holds. */
struct at {
	const struct conf *conf;
	const struct enclosure *enclosure;
	const char *season;     /* NULL: ordinarily */
	enum place place;
	enum quantity quantity;
};

/* Of the three the one that matters most: a band beyond those limits means that the
 * animal is wanted there. */
static void remark_rule(const struct at *at, const struct rule *own, const struct rule *species,
			struct faults *remarks)
{
	const char *what = "limits";
	struct range range = own->limits;
	char range_text[MEASURE_TEXT], limits_text[MEASURE_TEXT];
	enum units units = at->conf->units;
	char *when;

	if (!own->has_limits || !species->has_limits ||
	    range_within(own->limits, species->limits))
		return;
	if (own->has_band && !range_within(own->night, species->limits)) {
		what = "band of the night";
		range = own->night;
	}
	if (own->has_band && !range_within(own->day, species->limits)) {
		what = "band of the day";
		range = own->day;
	}
	when = at->season ? must_print(", season \"%s\"", at->season) : must_copy("");
	fault_add(remarks, "", 0,
		  "enclosure \"%s\"%s: the %s of its %s %s, %s, %s beyond the limits of its species "
		  "%s, %s; is that meant?",
		  at->enclosure->name, when, what, place_phrase(at->place),
		  quantity_word(at->quantity), show_range(range, at->quantity, units, range_text),
		  strcmp(what, "limits") == 0 ? "reach" : "reaches", at->enclosure->species->name,
		  show_range(species->limits, at->quantity, units, limits_text));
	free(when);
}

/* What the species says of limits there in that season, or else ordinarily. */
static const struct rule *species_rule(const struct species *species, const struct at *at)
{
	for (size_t i = 0; i < species->season_count; i++) {
		const struct season *season = &species->seasons[i];

		if (strcmp(season->name, at->season) != 0)
			continue;
		for (size_t r = 0; r < season->rule_count; r++)
			if (season->rules[r].place == at->place &&
			    season->rules[r].quantity == at->quantity && season->rules[r].limits)
				return &season->rules[r].rule;
	}
	return &species->rules[at->place][at->quantity];
}

/* A probe in the air below a lamp reads far less than the surface does, and whoever
 * believes it burns the animal. */
static void remark_surface(const struct conf *conf, const struct enclosure *enclosure,
			   struct faults *remarks)
{
	const struct rule *own = &enclosure->places[HOT_SPOT].rules[TEMPERATURE];
	const struct rule *species = &enclosure->species->rules[HOT_SPOT][TEMPERATURE];

	if (!species->has_band || !has_series(conf, enclosure, HOT_SPOT, TEMPERATURE) ||
	    own->day.low != species->day.low || own->day.high != species->day.high)
		return;
	fault_add(remarks, "", 0,
		  "enclosure \"%s\": the band of its hot spot is of the surface, as an infrared "
		  "thermometer reads it; a probe there reads otherwise: give it a band of its own",
		  enclosure->name);
}

void remark_species(const struct conf *conf, const struct enclosure *enclosure,
		    struct faults *remarks)
{
	struct at at = { .conf = conf, .enclosure = enclosure };

	if (!enclosure->species)
		return;
	remark_surface(conf, enclosure, remarks);
	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			at.place = (enum place)p;
			at.quantity = (enum quantity)q;
			remark_rule(&at, &enclosure->places[p].rules[q],
				    &enclosure->species->rules[p][q], remarks);
		}
	for (size_t i = 0; i < enclosure->season_count; i++)
		for (size_t r = 0; r < enclosure->seasons[i].rule_count; r++) {
			const struct season_rule *says = &enclosure->seasons[i].rules[r];

			at.season = enclosure->seasons[i].name;
			at.place = says->place;
			at.quantity = says->quantity;
			if (says->limits)
				remark_rule(&at, &says->rule, species_rule(enclosure->species, &at),
					    remarks);
		}
}
