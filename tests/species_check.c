/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the shipped species are held to; see species_check.h.
 */
#include "tests/species_spot.h"

#include "tests/cm.h"

#include "conf/memory.h"
#include "conf/words.h"

/* °C: how far a limit of the air keeps away from a critical temperature. */
static const double margin = 2;

/* A care limit of 32 °C "anywhere" on one hobby page, which veterinary figures for the
 * warm side (28..32 °C, B) reach; measured of the genus is 42 °C (A). */
static const char *const careless[] = { "king snake" };

/* ---- sources ---------------------------------------------------------------- */

void spot_blame(const struct spot *spot, const char *format, ...)
{
	va_list arguments;
	char *text;

	va_start(arguments, format);
	text = must_vprint(format, arguments);
	va_end(arguments);
	fault_add(spot->faults, "", 0, "%s%s%s, %s %s: %s", spot->species->name,
		  spot->season ? ", " : "", spot->season ? spot->season : "",
		  place_word(spot->place), quantity_word(spot->quantity), text);
	free(text);
}

/* Claims behind a comma or "and". */
static bool check_form(const struct spot *spot, const char *key, const char *part)
{
	const char *text = part;
	struct claim claim;

	do {
		if (!claim_take(spot->published, &text, &claim)) {
			spot_blame(spot, "the source of %s, \"%s\", is no form of source at \"%s\"",
				   key, part, text);
			return false;
		}
	} while (claim_pass(&text, ", ") || claim_pass(&text, " and "));
	if (*text)
		spot_blame(spot, "the source of %s, \"%s\", goes on with \"%s\"", key, part, text);
	return !*text;
}

static void check_source(const struct spot *spot, const struct rule *rule, const char *source,
			 const bool given[SOURCE_KEYS])
{
	for (int key = 0; key < SOURCE_KEYS; key++) {
		char *part = source_part(source, (enum source_key)key);
		bool formed = part && check_form(spot, source_word((enum source_key)key), part);

		if (given[key] && !part)
			spot_blame(spot, "%s has no source", source_word((enum source_key)key));
		else if (given[key] && formed && key <= SOURCE_LIMITS)
			figures_check(spot, rule, source, (enum source_key)key);
		free(part);
	}
}

/* ---- values ----------------------------------------------------------------- */

static bool is_inside(struct range inner, struct range outer)
{
	return inner.low >= outer.low && inner.high <= outer.high;
}

/* Whether a critical maximum is known: check_max() then says whether limits must be. */
static bool is_measured(const struct spot *spot)
{
	for (size_t i = 0; i < spot->published->critical_count; i++)
		if (spot->published->criticals[i].field == CRITICAL_MAX &&
		    strcmp(spot->published->criticals[i].name, spot->species->name) == 0)
			return true;
	return false;
}

static void check_band(const struct spot *spot, const struct rule *rule)
{
	bool harmless = spot->quantity == HUMIDITY && spot->place == HUMID_HIDE;
	bool stone = spot->place == HOT_SPOT && is_measured(spot);

	if (!rule->has_band)
		spot_blame(spot, "there is no band");
	if (!rule->has_limits && !harmless && !stone)
		spot_blame(spot, "there are no limits");
	if (rule->has_band && rule->has_limits &&
	    !(is_inside(rule->day, rule->limits) && is_inside(rule->night, rule->limits)))
		spot_blame(spot, "a band does not lie inside the limits");
	if (spot->quantity == HUMIDITY && spot->place != COOL_SIDE && spot->place != HUMID_HIDE &&
	    spot->place != EGGS)
		spot_blame(spot, "humidity is judged where the air is driest");
}

static bool is_careless(const struct spot *spot)
{
	for (size_t i = 0; i < sizeof careless / sizeof *careless; i++)
		if (strcmp(careless[i], spot->species->name) == 0)
			return true;
	return spot->place == HOT_SPOT;
}

/* Of a hot spot the surface must lie below what the body may be; of the air by a margin. */
static void check_max(const struct spot *spot, const struct rule *rule, double most)
{
	double upper = rule->limits.high;

	if (spot->place == HOT_SPOT && !rule->has_limits && rule->day.high >= most)
		return;
	if (!rule->has_limits)
		spot_blame(spot, "there are no limits, and the band lies below the critical "
			   "maximum, %g C", most);
	else if (spot->place == HOT_SPOT && upper >= most)
		spot_blame(spot, "the upper limit of %g C does not lie below the critical maximum, "
			   "%g C", upper, most);
	else if (spot->place != HOT_SPOT && upper > most - margin)
		spot_blame(spot, "the upper limit of %g C keeps no %g C from the critical maximum, "
			   "%g C", upper, margin, most);
}

/* Against what is published of that species.  In a season of rest an animal may well
 * be colder than what lets it turn over. */
static void check_critical(const struct spot *spot, const struct rule *rule)
{
	const struct range *limits = &rule->limits;

	for (size_t i = 0; i < spot->published->critical_count; i++) {
		const struct critical *critical = &spot->published->criticals[i];

		if (strcmp(critical->name, spot->species->name) != 0)
			continue;
		if (critical->field == CRITICAL_MAX)
			check_max(spot, rule, critical->low);
		else if (!rule->has_limits)
			continue;
		else if (critical->field == CRITICAL_MIN && !spot->season &&
			 limits->low < critical->high + margin)
			spot_blame(spot, "the lower limit of %g C keeps no %g C from the critical minimum, "
			      "%g C", limits->low, margin, critical->high);
		else if (critical->field == CARE_LIMIT && !is_careless(spot) &&
			 limits->high > critical->high)
			spot_blame(spot, "the upper limit of %g C passes the care limit, %g C",
			      limits->high, critical->high);
	}
}

static void check_rule(const struct spot *spot, const struct rule *rule)
{
	check_band(spot, rule);
	if (spot->quantity == TEMPERATURE)
		check_critical(spot, rule);
	bounds_check(spot, rule);
}

static void check_ordinary(const struct spot *spot, const struct rule *rule)
{
	const bool given[SOURCE_KEYS] = {
		[SOURCE_DAY] = rule->has_band,
		[SOURCE_NIGHT] = rule->has_band,
		[SOURCE_LIMITS] = rule->has_limits,
		[SOURCE_PATIENCE] = rule->has_patience,
		[SOURCE_DAILY] = rule->has_daily,
		[SOURCE_LIMITS_PATIENCE] = rule->has_limits_patience,
	};

	check_source(spot, rule, rule->source, given);
	check_rule(spot, rule);
}

/* Dates are the keeper's. */
static void check_season(struct spot spot, const struct season *season)
{
	spot.season = season->name;
	if (season->dates.kind != UNDATED)
		fault_add(spot.faults, "", 0, "%s, %s: has dates", spot.species->name, season->name);
	for (size_t i = 0; i < season->rule_count; i++) {
		const struct season_rule *says = &season->rules[i];
		const bool given[SOURCE_KEYS] = {
			[SOURCE_DAY] = says->day,
			[SOURCE_NIGHT] = says->night,
			[SOURCE_LIMITS] = says->limits,
			[SOURCE_PATIENCE] = says->patience,
			[SOURCE_DAILY] = says->daily,
			[SOURCE_LIMITS_PATIENCE] = says->limits_patience,
		};

		spot.place = says->place;
		spot.quantity = says->quantity;
		check_source(&spot, &says->rule, says->source ? says->rule.source : NULL, given);
		check_rule(&spot, &says->rule);
	}
}

static bool says_day(const struct season *season, enum place place, enum quantity quantity)
{
	for (size_t i = 0; i < season->rule_count; i++)
		if (season->rules[i].place == place && season->rules[i].quantity == quantity &&
		    season->rules[i].day)
			return true;
	return false;
}

/* Where the heat is off, it is off everywhere; and cold air reads damper. */
static void check_rest(const struct spot *spot, const struct season *season)
{
	for (int p = 0; p < PLACES; p++)
		if (spot->species->rules[p][TEMPERATURE].has_band &&
		    !says_day(season, (enum place)p, TEMPERATURE))
			fault_add(spot->faults, "", 0, "%s, %s: nothing is said of %s",
				  spot->species->name, season->name, place_word((enum place)p));
	if (!says_day(season, COOL_SIDE, HUMIDITY))
		fault_add(spot->faults, "", 0, "%s, %s: nothing is said of the humidity",
			  spot->species->name, season->name);
}

static void check_species(const struct species *species, const struct published *published,
			  struct faults *faults)
{
	struct spot spot = { published, species, NULL, HOT_SPOT, TEMPERATURE, faults };

	for (int p = 0; p < PLACES; p++)
		for (int q = 0; q < QUANTITIES; q++) {
			const struct rule *rule = &species->rules[p][q];

			spot.place = (enum place)p;
			spot.quantity = (enum quantity)q;
			if (rule->has_band || rule->has_limits || rule->source)
				check_ordinary(&spot, rule);
		}
	for (size_t i = 0; i < species->season_count; i++) {
		check_season(spot, &species->seasons[i]);
		if (strcmp(species->seasons[i].name, "brumation") == 0)
			check_rest(&spot, &species->seasons[i]);
	}
}

void species_check(const struct conf *conf, const struct published *published,
		   struct faults *faults)
{
	for (size_t i = 0; i < conf->species_count; i++)
		check_species(&conf->species[i], published, faults);
}
