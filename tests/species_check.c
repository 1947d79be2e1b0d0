/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the shipped species are held to; see species_check.h.
 */
#include "tests/species_check.h"

#include "tests/cm.h"

#include <stdio.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/source.h"
#include "conf/words.h"

/* °C: how far a limit of the air keeps away from a critical temperature. */
static const double margin = 2;

/* °C: how far above the hottest published surface an exempted hot spot's limit may lie. */
static const double above_surface = 3;

/* Hot spots whose published surfaces reach the critical maximum of the body: a stone
 * that is left again when the animal is warm through.  surface: the hottest published,
 * °C, where from. */
static const struct exemption {
	const char *name;
	double surface;
} hot_spots[] = {
	{ "bearded dragon", 43 },       /* magazine, 2017, C; 40 in a government text, A */
	{ "savannah monitor", 55 },     /* memory; 63 on a hobby page */
	{ "ackie monitor", 60 },        /* memory; 63 on a hobby page */
	{ "jewelled lizard", 45 },      /* a herpetological society's profile, undated, C */
};

/* A care limit of 32 °C "anywhere" on one hobby page, which veterinary figures for the
 * warm side (28..32 °C, B) reach; measured of the genus is 42 °C (A). */
static const char *const careless[] = { "king snake" };

/* ---- the tables ------------------------------------------------------------- */

size_t split_tabs(char *line, char *fields[], size_t most)
{
	size_t count = 0;

	line[strcspn(line, "\r\n")] = '\0';
	for (char *field; (field = strsep(&line, "\t"));)
		if (count++ < most)
			fields[count - 1] = field;
	return count;
}

const char *critical_word(int field)
{
	static const char *const words[CRITICALS] = { "critical_max", "critical_min", "care_limit" };

	return words[field];
}

static void add_document(struct published *out, char *fields[], size_t count)
{
	assert_int_equal(count, 3);
	assert_true(strchr("ABC", *fields[2]) && strlen(fields[2]) == 1);
	out->documents = must_resize(out->documents, out->document_count + 1,
				     sizeof *out->documents);
	out->documents[out->document_count++] = (struct document){
		must_copy(fields[0]), must_copy(fields[1]), must_copy(fields[2])
	};
}

static void add_critical(struct published *out, char *fields[], size_t count)
{
	struct critical critical = { 0 };
	int field = 0;

	assert_int_equal(count, 6);
	while (field < CRITICALS && strcmp(critical_word(field), fields[2]) != 0)
		field++;
	assert_true(field < CRITICALS);
	critical.field = field;
	critical.has_low = *fields[3];
	assert_true(!critical.has_low || parse_number(fields[3], &critical.low));
	assert_true(parse_number(fields[4], &critical.high));
	assert_true(*fields[5]);
	critical.name = must_copy(fields[0]);
	critical.animal = must_copy(fields[1]);
	out->criticals = must_resize(out->criticals, out->critical_count + 1,
				     sizeof *out->criticals);
	out->criticals[out->critical_count++] = critical;
}

static void read_table(const char *folder, const char *name, struct published *out,
		       void (*add)(struct published *, char *[], size_t))
{
	char *path = must_print("%s/%s", folder, name);
	FILE *file = fopen(path, "r");
	char *line = NULL;
	size_t size = 0;

	if (!file)
		fail_msg("%s cannot be read", path);
	while (getline(&line, &size, file) > 0) {
		char *fields[6] = { NULL };

		if (*line != '#')
			add(out, fields, split_tabs(line, fields, 6));
	}
	free(line);
	fclose(file);
	free(path);
}

void published_read(const char *folder, struct published *out)
{
	*out = (struct published){ 0 };
	read_table(folder, "species_documents.tsv", out, add_document);
	read_table(folder, "species_critical.tsv", out, add_critical);
}

void published_clear(struct published *published)
{
	for (size_t i = 0; i < published->document_count; i++) {
		free(published->documents[i].title);
		free(published->documents[i].year);
		free(published->documents[i].weight);
	}
	for (size_t i = 0; i < published->critical_count; i++) {
		free(published->criticals[i].name);
		free(published->criticals[i].animal);
	}
	free(published->documents);
	free(published->criticals);
}

/* ---- sources ---------------------------------------------------------------- */

/* Where the faults of a rule are said to be. */
struct spot {
	const struct conf *conf;
	const struct published *published;
	const struct species *species;
	const char *season;     /* NULL: the ordinary rule */
	enum place place;
	enum quantity quantity;
	struct faults *faults;
};

static void blame(const struct spot *spot, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

static void blame(const struct spot *spot, const char *format, ...)
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

static bool pass(const char **text, const char *words)
{
	size_t length = strlen(words);

	if (strncmp(*text, words, length) != 0)
		return false;
	*text += length;
	return true;
}

/* Goes behind one of the forms a source may have; false when it has none. */
static bool skip_form(const struct published *published, const char **text)
{
	static const char *const plain[] = { "memory", "common practice, no source",
					      "hobby page, unreviewed" };

	for (size_t i = 0; i < sizeof plain / sizeof *plain; i++)
		if (pass(text, plain[i]))
			return true;
	for (size_t i = 0; i < published->document_count; i++) {
		const struct document *document = &published->documents[i];
		const char *at = *text;

		if (pass(&at, document->title) && pass(&at, ", ") && pass(&at, document->year) &&
		    pass(&at, ", ") && pass(&at, document->weight)) {
			*text = at;
			return true;
		}
	}
	return false;
}

/* [lowest|highest|lower|upper [from]] FORM [(NOTE)], and more of them behind a comma
 * or "and". */
static void check_form(const struct spot *spot, const char *key, const char *part)
{
	static const char *const ends[] = { "lowest ", "highest ", "lower ", "upper " };
	const char *text = part;

	do {
		for (size_t i = 0; i < sizeof ends / sizeof *ends; i++)
			if (pass(&text, ends[i]))
				break;
		pass(&text, "from ");
		if (!skip_form(spot->published, &text)) {
			blame(spot, "the source of %s, \"%s\", is no form of source at \"%s\"", key,
			      part, text);
			return;
		}
		if (pass(&text, " ("))
			text += strcspn(text, ")") + (strchr(text, ')') != NULL);
	} while (pass(&text, ", ") || pass(&text, " and "));
	if (*text)
		blame(spot, "the source of %s, \"%s\", goes on with \"%s\"", key, part, text);
}

static void check_source(const struct spot *spot, const char *source, const bool given[SOURCE_KEYS])
{
	for (int key = 0; key < SOURCE_KEYS; key++) {
		char *part = source_part(source, (enum source_key)key);

		if (given[key] && !part)
			blame(spot, "%s has no source", source_word((enum source_key)key));
		else if (part)
			check_form(spot, source_word((enum source_key)key), part);
		free(part);
	}
}

/* ---- values ----------------------------------------------------------------- */

static bool is_inside(struct range inner, struct range outer)
{
	return inner.low >= outer.low && inner.high <= outer.high;
}

static void check_band(const struct spot *spot, const struct rule *rule)
{
	bool harmless = spot->quantity == HUMIDITY && spot->place == HUMID_HIDE;

	if (!rule->has_band)
		blame(spot, "there is no band");
	if (!rule->has_limits && !harmless)
		blame(spot, "there are no limits");
	if (rule->has_band && rule->has_limits &&
	    !(is_inside(rule->day, rule->limits) && is_inside(rule->night, rule->limits)))
		blame(spot, "a band does not lie inside the limits");
	if (spot->quantity == HUMIDITY && spot->place != COOL_SIDE && spot->place != HUMID_HIDE &&
	    spot->place != EGGS)
		blame(spot, "humidity is judged where the air is driest");
}

/* The exemption of a hot spot, or NULL. */
static const struct exemption *exemption_of(const struct spot *spot)
{
	for (size_t i = 0; i < sizeof hot_spots / sizeof *hot_spots; i++)
		if (spot->place == HOT_SPOT && strcmp(hot_spots[i].name, spot->species->name) == 0)
			return &hot_spots[i];
	return NULL;
}

static bool is_careless(const struct spot *spot)
{
	for (size_t i = 0; i < sizeof careless / sizeof *careless; i++)
		if (strcmp(careless[i], spot->species->name) == 0)
			return true;
	return spot->place == HOT_SPOT;
}

static void check_max(const struct spot *spot, const struct range *limits, double most)
{
	const struct exemption *exemption = exemption_of(spot);

	if (exemption && exemption->surface + above_surface <= most - margin)
		blame(spot, "is exempted and need not be");
	else if (exemption && limits->high > exemption->surface + above_surface)
		blame(spot, "the upper limit of %g C lies far above the hottest published surface, "
		      "%g C", limits->high, exemption->surface);
	else if (!exemption && limits->high > most - margin)
		blame(spot, "the upper limit of %g C keeps no %g C from the critical maximum, %g C",
		      limits->high, margin, most);
}

/* Against what is published of that species.  In a season of rest an animal may well
 * be colder than what lets it turn over. */
static void check_critical(const struct spot *spot, const struct range *limits)
{
	for (size_t i = 0; i < spot->published->critical_count; i++) {
		const struct critical *critical = &spot->published->criticals[i];

		if (strcmp(critical->name, spot->species->name) != 0)
			continue;
		if (critical->field == CRITICAL_MAX)
			check_max(spot, limits, critical->low);
		else if (critical->field == CRITICAL_MIN && !spot->season &&
			 limits->low < critical->high + margin)
			blame(spot, "the lower limit of %g C keeps no %g C from the critical minimum, "
			      "%g C", limits->low, margin, critical->high);
		else if (critical->field == CARE_LIMIT && !is_careless(spot) &&
			 limits->high > critical->high)
			blame(spot, "the upper limit of %g C passes the care limit, %g C",
			      limits->high, critical->high);
	}
}

static void check_rule(const struct spot *spot, const struct rule *rule)
{
	check_band(spot, rule);
	if (spot->quantity == TEMPERATURE && rule->has_limits)
		check_critical(spot, &rule->limits);
}

static void check_ordinary(const struct spot *spot, const struct rule *rule)
{
	const bool given[SOURCE_KEYS] = {
		[SOURCE_DAY] = rule->has_band,
		[SOURCE_NIGHT] = rule->has_band,
		[SOURCE_LIMITS] = rule->has_limits,
		[SOURCE_PATIENCE] = rule->has_patience,
	};

	check_source(spot, rule->source, given);
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
		};

		spot.place = says->place;
		spot.quantity = says->quantity;
		check_source(&spot, says->source ? says->rule.source : NULL, given);
		check_rule(&spot, &says->rule);
	}
}

/* Where the heat is off, it is off everywhere. */
static void check_rest(const struct spot *spot, const struct season *season)
{
	for (int p = 0; p < PLACES; p++) {
		bool met = !spot->species->rules[p][TEMPERATURE].has_band;

		for (size_t i = 0; i < season->rule_count && !met; i++)
			met = season->rules[i].place == (enum place)p &&
			      season->rules[i].quantity == TEMPERATURE && season->rules[i].day;
		if (!met)
			fault_add(spot->faults, "", 0, "%s, %s: nothing is said of %s",
				  spot->species->name, season->name, place_word((enum place)p));
	}
}

static void check_species(const struct conf *conf, const struct species *species,
			  const struct published *published, struct faults *faults)
{
	struct spot spot = { conf, published, species, NULL, HOT_SPOT, TEMPERATURE, faults };

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
		check_species(conf, &conf->species[i], published, faults);
}
