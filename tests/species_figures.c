/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The bands of the shipped species against the published figures; see species_spot.h.
 */
#include "tests/species_spot.h"

#include "tests/cm.h"

#include "conf/memory.h"

/* °C: what rounding to a whole degree may do to an edge. */
static const double rounding = 0.5;

/* °C or %: how far a limit may be rounded inward. */
static const double inward = 1;

/* °C: how far a limit of the air keeps away from a critical temperature. */
static const double margin = 2;

/* °C or %: the most an edge may lie beside its figure, and only where that is said. */
static const double most_widened = 5;

/* °C: what is left of a number after its way through text. */
static const double nothing = 1e-9;

/* The fields an edge may be from, a list a kind of rule; NULL ends it. */
enum { FIELDS = 6 };

static const char *const *fields_of(const struct spot *spot, enum source_key key)
{
	static const char *const hot[FIELDS] = { "basking_surface", "potz_day", "warm_air" };
	static const char *const warm[FIELDS] = { "warm_air" };
	static const char *const cool[FIELDS] = { "cool_side", "day_range_overall", "warm_air" };
	static const char *const night[FIELDS] = { "night_range", "day_range_overall", "cool_side",
						   "warm_air" };
	static const char *const rest[FIELDS] = { "brumation", "brumation_day",
						  "brumation_limits" };
	static const char *const harm[FIELDS] = { "care_limit", "basking_surface",
						  "day_range_overall" };
	static const char *const damp[FIELDS] = { "rh_day" };
	static const char *const misted[FIELDS] = { "rh_day", "rh_night_mist" };
	static const char *const hide[FIELDS] = { "rh_humid_hide", "rh_night_mist" };

	if (spot->quantity == HUMIDITY)
		return spot->place == HUMID_HIDE			  ? hide
		       : spot->season || key == SOURCE_NIGHT ? misted
							   : damp;
	if (spot->season)
		return rest;
	if (key == SOURCE_LIMITS)
		return harm;
	if (key == SOURCE_NIGHT)
		return night;
	return spot->place == HOT_SPOT ? hot : spot->place == WARM_SIDE ? warm : cool;
}

static bool is_snake(const struct species *species)
{
	static const char *const ends[] = { "python", "snake", "boa constrictor" };

	for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
		size_t length = strlen(species->name), end = strlen(ends[i]);

		if (length >= end && strcmp(species->name + length - end, ends[i]) == 0)
			return true;
	}
	return false;
}

/* What is of snakes at large is of each of them. */
static bool is_of(const struct figure *figure, const struct species *species)
{
	return strcmp(figure->name, species->name) == 0 ||
	       (strcmp(figure->name, "(pet snakes)") == 0 && is_snake(species));
}

/* Eggs have no figures at all. */
static bool has_figures(const struct spot *spot)
{
	for (size_t i = 0; i < spot->published->figure_count; i++)
		if (strcmp(spot->published->figures[i].name, spot->species->name) == 0)
			return true;
	return false;
}

bool figures_hottest(const struct spot *spot, double *hottest)
{
	bool found = false;

	for (size_t i = 0; i < spot->published->figure_count; i++) {
		const struct figure *figure = &spot->published->figures[i];

		if (!figure->has_high || !is_of(figure, spot->species) ||
		    (strcmp(figure->field, "basking_surface") != 0 &&
		     strcmp(figure->field, "warm_air") != 0))
			continue;
		if (!found || figure->high > *hottest)
			*hottest = figure->high;
		found = true;
	}
	return found;
}

/* Whether a figure is what an edge says: of a day or night as near as rounding lets it
 * be; a limit never beyond it.  upper: of the high end. */
static bool agrees(const struct spot *spot, double figure, double edge, enum source_key key,
		   bool upper)
{
	double beyond = upper ? edge - figure : figure - edge;
	double off = spot->quantity == TEMPERATURE ? rounding : 0;

	if (key == SOURCE_LIMITS)
		return beyond <= nothing && beyond > -inward;
	return fabs(edge - figure) <= off + nothing;
}

static bool is_published(const struct spot *spot, const struct claim *claim, double edge,
			 enum source_key key, bool upper)
{
	const char *const *fields = fields_of(spot, key);
	double sought = claim->widened ? claim->of : edge;

	if (claim->widened && (fabs(fabs(edge - claim->of) - claim->by) > nothing ||
			       claim->by > most_widened))
		return false;
	for (size_t i = 0; i < spot->published->figure_count; i++) {
		const struct figure *figure = &spot->published->figures[i];

		if (!is_of(figure, spot->species) || strcmp(figure->title, claim->title) != 0)
			continue;
		for (size_t f = 0; fields[f]; f++)
			if (strcmp(fields[f], figure->field) == 0 &&
			    ((figure->has_low && agrees(spot, figure->low, sought, key, upper)) ||
			     (figure->has_high && agrees(spot, figure->high, sought, key, upper))))
				return true;
	}
	return false;
}

/* A limit that keeps the margin from a critical temperature, and no more than that. */
static bool is_critical(const struct spot *spot, double edge, bool upper)
{
	for (size_t i = 0; i < spot->published->critical_count; i++) {
		const struct critical *critical = &spot->published->criticals[i];
		double limit = upper ? critical->low - margin : critical->high + margin;

		if (strcmp(critical->name, spot->species->name) == 0 &&
		    critical->field == (upper ? CRITICAL_MAX : CRITICAL_MIN) &&
		    agrees(spot, limit, edge, SOURCE_LIMITS, upper))
			return true;
	}
	return false;
}

static void check_end(const struct spot *spot, const struct claim *claim, const struct rule *rule,
		      enum source_key key, bool upper)
{
	struct range range = key == SOURCE_LIMITS ? rule->limits
			     : key == SOURCE_DAY  ? rule->day
						  : rule->night;
	double edge = upper ? range.high : range.low;
	double by_day = upper ? rule->day.high : rule->day.low;
	bool found;

	if (!claim->title || (key == SOURCE_NIGHT && edge == by_day))
		return;
	if (strcmp(claim->title, "GlobTherm") == 0)
		found = key == SOURCE_LIMITS && is_critical(spot, edge, upper);
	else
		found = is_published(spot, claim, edge, key, upper);
	if (!found)
		spot_blame(spot, "%s: %g is no figure of \"%s\"", source_word(key), edge,
			   claim->title);
}

void figures_check(const struct spot *spot, const struct rule *rule, const char *source,
		   enum source_key key)
{
	char *part = source_part(source, key);
	const char *text = part;
	bool low = false, high = false;
	struct claim claim;

	if (!part || !has_figures(spot)) {
		free(part);
		return;
	}
	while (claim_take(spot->published, &text, &claim)) {
		if (claim.low)
			check_end(spot, &claim, rule, key, false);
		if (claim.high)
			check_end(spot, &claim, rule, key, true);
		low |= claim.low;
		high |= claim.high;
		if (!claim_pass(&text, ", ") && !claim_pass(&text, " and "))
			break;
	}
	free(part);
	if (key == SOURCE_NIGHT) {
		low |= rule->night.low == rule->day.low;
		high |= rule->night.high == rule->day.high;
	}
	if (!low || !high)
		spot_blame(spot, "%s: nobody says the %s end", source_word(key),
			   low ? "high" : "low");
}
