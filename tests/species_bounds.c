/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ceilings and floors that hold for every shipped species, whatever its sources say.
 * Where no source is named beside one it is common practice, no source.
 */
#include "tests/species_spot.h"

#include "tests/cm.h"

/* °C: the hottest air, of snakes, chameleons and tortoises, and of others. */
static const double hottest_air = 36, hottest_air_of_others = 40;

/* °C: the coldest of a species that knows no winter rest, and of one that does: 2 °C
 * above the highest critical minimum of one here, 6 °C (GlobTherm, 2018). */
static const double coldest = 12, coldest_of_resters = 8;

/* °C: in winter rest; frost injury begins below 2 °C (from memory). */
static const double coldest_at_rest = 3;

/* °C: how far above its band the limit of a rest without heat may lie, and how far above
 * the hottest published surface that of a hot spot. */
static const double above_rest = 5, above_surface = 3;

/* °C: of eggs (from memory). */
static const struct range of_eggs = { 20, 34 };

/* %: outside is a dry bag or a wet probe. */
static const struct range of_humidity = { 5, 97 };

/* %: a lasting air above this needs a patience with it: mistings reach it. */
static const double misty = 95;

/* %: how far from the band its limits may lie. */
static const double reach = 35;

/* A species is listed here by hand, so that one that is added is thought about. */
static const struct kind {
	const char *name;
	bool hardy;             /* may have the hotter air */
	bool dark;              /* active by day: its lamps are off at night */
} kinds[] = {
	{ "ball python", false, false },       { "corn snake", false, false },
	{ "western hognose snake", false, false }, { "boa constrictor", false, false },
	{ "carpet python", false, false },     { "green tree python", false, false },
	{ "king snake", false, false },        { "garter snake", false, false },
	{ "reticulated python", false, false }, { "Burmese python", false, false },
	{ "leopard gecko", true, false },      { "crested gecko", true, false },
	{ "African fat-tailed gecko", true, false }, { "gargoyle gecko", true, false },
	{ "tokay gecko", true, false },        { "day gecko", true, true },
	{ "bearded dragon", true, true },      { "blue-tongue skink", true, true },
	{ "uromastyx", true, true },           { "savannah monitor", true, true },
	{ "ackie monitor", true, true },       { "green iguana", true, true },
	{ "panther chameleon", false, true },  { "veiled chameleon", false, true },
	{ "jewelled lizard", true, true },     { "Hermann tortoise", false, true },
	{ "Greek tortoise", false, true },     { "red-footed tortoise", false, true },
};

static const struct kind *kind_of(const struct species *species)
{
	for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++)
		if (strcmp(kinds[i].name, species->name) == 0)
			return &kinds[i];
	return NULL;
}

static bool is_rest(const struct spot *spot)
{
	return spot->season && strcmp(spot->season, "brumation") == 0;
}

static bool knows_rest(const struct species *species)
{
	for (size_t i = 0; i < species->season_count; i++)
		if (strcmp(species->seasons[i].name, "brumation") == 0)
			return true;
	return false;
}

static bool same(struct range a, struct range b)
{
	return a.low == b.low && a.high == b.high;
}

/* The highest an upper limit may be, °C. */
static double ceiling(const struct spot *spot, const struct rule *rule, const struct kind *kind)
{
	double hottest;

	if (spot->place == EGGS)
		return of_eggs.high;
	if (is_rest(spot) && same(rule->day, rule->night))
		return rule->day.high + above_rest;
	if (spot->place == HOT_SPOT && figures_hottest(spot, &hottest))
		return hottest + above_surface;
	return kind && kind->hardy ? hottest_air_of_others : hottest_air;
}

static double ground(const struct spot *spot)
{
	return spot->place == EGGS		? of_eggs.low
	       : is_rest(spot)			? coldest_at_rest
	       : knows_rest(spot->species)	? coldest_of_resters
						: coldest;
}

static void check_temperature(const struct spot *spot, const struct rule *rule)
{
	const struct kind *kind = kind_of(spot->species);
	bool heated = spot->place == HOT_SPOT || spot->place == WARM_SIDE;

	if (!kind && spot->place != EGGS)
		spot_blame(spot, "is of no kind in species_bounds.c");
	if (rule->has_limits && rule->limits.high > ceiling(spot, rule, kind))
		spot_blame(spot, "the upper limit of %g C lies above the most there may be, %g C",
			   rule->limits.high, ceiling(spot, rule, kind));
	if (rule->has_limits && rule->limits.low < ground(spot))
		spot_blame(spot, "the lower limit of %g C lies below the least there may be, %g C",
			   rule->limits.low, ground(spot));
	if (kind && kind->dark && heated && !spot->season && rule->night.high >= rule->day.high)
		spot_blame(spot, "a lamp left on at night is not told");
	if (kind && kind->dark && spot->place == HOT_SPOT && !spot->season &&
	    rule->night.high >= rule->day.low)
		spot_blame(spot, "the night reaches into the day's basking");
}

static void check_humidity(const struct spot *spot, const struct rule *rule)
{
	struct range all = { fmin(rule->day.low, rule->night.low),
			     fmax(rule->day.high, rule->night.high) };

	if (!rule->has_limits)
		return;
	if (spot->place != EGGS &&
	    (rule->limits.low < of_humidity.low || rule->limits.high > of_humidity.high))
		spot_blame(spot, "limits of %g..%g %% leave %g..%g %%", rule->limits.low,
			   rule->limits.high, of_humidity.low, of_humidity.high);
	if (spot->place != EGGS && rule->limits.high > misty && !rule->has_limits_patience)
		spot_blame(spot, "a misting passes the upper limit, and has no limits_patience");
	if (spot->season && !is_rest(spot))
		return; /* the ordinary limits, beside a narrower band */
	if (rule->limits.low < all.low - reach || rule->limits.high > all.high + reach)
		spot_blame(spot, "limits of %g..%g %% lie more than %g %% from the band",
			   rule->limits.low, rule->limits.high, reach);
}

void bounds_check(const struct spot *spot, const struct rule *rule)
{
	if (rule->has_band && spot->quantity == TEMPERATURE && rule->night.low > rule->day.low)
		spot_blame(spot, "the night begins at %g C, above the day's %g C", rule->night.low,
			   rule->day.low);
	if (spot->quantity == TEMPERATURE)
		check_temperature(spot, rule);
	else
		check_humidity(spot, rule);
}
