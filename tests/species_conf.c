/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The shipped conf/species.conf, read by the loader: every animal is there, every value
 * has a source of an allowed form, bands lie inside limits and limits away from critical
 * temperatures.  Copies with one thing wrong: species_mistakes.c.
 *
 * Sources of the checks: GlobTherm (Bennett et al. 2018, doi 10.1038/sdata.2018.22) for
 * critical temperatures; the documents and their weights in reference/
 * species_documents.tsv.  With WARMSIDE_SPECIES_TSV naming the table all of it was
 * taken from, the copy of the critical temperatures is held against that.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/memory.h"
#include "tests/conftext.h"
#include "tests/species_check.h"

/* Those of the table, each by its name there, and eggs. */
static const struct {
	const char *name, *animal;
} wanted[] = {
	{ "ball python", "Ball (royal) python" },
	{ "corn snake", "Corn snake" },
	{ "western hognose snake", "Western hognose snake" },
	{ "boa constrictor", "Boa constrictor" },
	{ "carpet python", "Carpet python" },
	{ "green tree python", "Green tree python" },
	{ "king snake", "King snake / milk snake" },
	{ "garter snake", "Garter snake" },
	{ "reticulated python", "Reticulated python" },
	{ "Burmese python", "Burmese python" },
	{ "leopard gecko", "Leopard gecko" },
	{ "crested gecko", "Crested gecko" },
	{ "African fat-tailed gecko", "African fat-tailed gecko" },
	{ "gargoyle gecko", "Gargoyle gecko" },
	{ "tokay gecko", "Tokay gecko" },
	{ "day gecko", "Day gecko" },
	{ "bearded dragon", "Bearded dragon" },
	{ "blue-tongue skink", "Blue-tongue skink" },
	{ "uromastyx", "Uromastyx" },
	{ "savannah monitor", "Savannah monitor" },
	{ "ackie monitor", "Ackie (ridge-tailed) monitor" },
	{ "green iguana", "Green iguana" },
	{ "panther chameleon", "Panther chameleon" },
	{ "veiled chameleon", "Veiled chameleon" },
	{ "jewelled lizard", "Jewelled (ocellated) lizard" },
	{ "Hermann tortoise", "Hermann's tortoise" },
	{ "Greek tortoise", "Greek (spur-thighed) tortoise" },
	{ "red-footed tortoise", "Red-footed tortoise" },
	{ "python eggs", NULL },
	{ "colubrid eggs", NULL },
	{ "gecko eggs", NULL },
	{ "tortoise eggs", NULL },
};

enum { WANTED = sizeof wanted / sizeof *wanted };

static const struct species *find(const struct conf *conf, const char *name)
{
	for (size_t i = 0; i < conf->species_count; i++)
		if (strcmp(conf->species[i].name, name) == 0)
			return &conf->species[i];
	return NULL;
}

/* ---- the shipped file ------------------------------------------------------- */

static void every_animal_is_there(void **state)
{
	char *text = shipped_species();
	struct conf *conf = load_good(state, text);

	for (size_t i = 0; i < WANTED; i++) {
		const struct species *species = find(conf, wanted[i].name);

		if (!species)
			fail_msg("%s is not there", wanted[i].name);
		assert_non_null(species->latin);
		if (wanted[i].animal) {
			assert_true(species->rules[COOL_SIDE][TEMPERATURE].has_band);
			assert_true(species->rules[COOL_SIDE][HUMIDITY].has_band);
			assert_true(species->rules[WARM_SIDE][TEMPERATURE].has_band);
		} else {
			assert_true(species->rules[EGGS][TEMPERATURE].has_band);
			assert_true(species->rules[EGGS][HUMIDITY].has_band);
		}
	}
	assert_int_equal(conf->species_count, WANTED);
	conf_free(conf);
	free(text);
}

static void every_value_is_as_it_should_be(void **state)
{
	struct published table = published_shipped();
	struct faults faults = { 0 };
	char *text = shipped_species();
	struct conf *conf = load_good(state, text);

	species_check(conf, &table, &faults);
	for (size_t i = 0; i < faults.count; i++)
		print_error("%s\n", faults.list[i].text);
	assert_int_equal(faults.count, 0);
	faults_clear(&faults);
	conf_free(conf);
	published_clear(&table);
	free(text);
}

static void every_published_animal_is_one_of_ours(void **state)
{
	struct published table = published_shipped();

	(void)state;
	assert_true(table.critical_count > 20 && table.document_count > 10);
	for (size_t i = 0; i < table.critical_count; i++) {
		size_t at = 0;

		while (at < WANTED && strcmp(wanted[at].name, table.criticals[i].name) != 0)
			at++;
		assert_true(at < WANTED);
		assert_string_equal(table.criticals[i].animal, wanted[at].animal);
	}
	published_clear(&table);
}

/* Where the source of a figure is one that may be named. */
static bool is_known(const struct published *published, const struct figure *figure)
{
	if (!figure->seen)
		return *figure->weight == '\0';
	if (strcmp(figure->title, "hobby page, unreviewed") == 0)
		return strcmp(figure->weight, "D") == 0;
	for (size_t i = 0; i < published->document_count; i++)
		if (strcmp(published->documents[i].title, figure->title) == 0 &&
		    strcmp(published->documents[i].weight, figure->weight) == 0)
			return true;
	return false;
}

static void every_figure_is_of_a_known_source(void **state)
{
	struct published table = published_shipped();

	(void)state;
	assert_true(table.figure_count > 200);
	for (size_t i = 0; i < table.figure_count; i++)
		if (!is_known(&table, &table.figures[i]))
			fail_msg("%s, %s: no source is \"%s\" of weight %s", table.figures[i].name,
				 table.figures[i].field, table.figures[i].title,
				 table.figures[i].weight);
	published_clear(&table);
}

/* ---- the table all is taken from -------------------------------------------- */

/* Whether a row of the table says what one of ours does, or none of ours need do. */
static bool row_is_ours(const struct published *published, char *fields[], bool met[])
{
	const char *field = strcmp(fields[2], "critical_care_limit") == 0 ? "care_limit" : fields[2];
	bool ours = false;

	for (size_t i = 0; i < published->critical_count; i++) {
		const struct critical *critical = &published->criticals[i];

		if (strcmp(critical->animal, fields[0]) != 0 ||
		    strcmp(critical_word((int)critical->field), field) != 0 ||
		    critical->has_low != (*fields[3] != '\0') ||
		    (critical->has_low && strtod(fields[3], NULL) != critical->low) ||
		    strtod(fields[4], NULL) != critical->high)
			continue;
		ours = met[i] = true;
	}
	return ours;
}

/* A critical minimum may be told beside a maximum only: "CTmin 5". */
static void meet_minima(const struct published *published, const char *note, bool met[])
{
	const char *at = strstr(note, "CTmin ");

	for (size_t i = 0; at && i < published->critical_count; i++) {
		const struct critical *critical = &published->criticals[i];
		char *end;
		double low = strtod(at + strlen("CTmin "), &end);
		double high = *end == '-' ? strtod(end + 1, NULL) : low;

		if (critical->field == CRITICAL_MIN && critical->low == low && critical->high == high)
			met[i] = true;
	}
}

static bool same_number(bool given, double number, const char *text)
{
	return given == (*text != '\0') && (!given || strtod(text, NULL) == number);
}

/* Whether the row is of that name: an animal of ours, or pet snakes at large. */
static bool names_row(const char *name, char *fields[])
{
	if (strcmp(name, "(pet snakes)") == 0)
		return strcmp(fields[1], "pet snakes") == 0;
	for (size_t i = 0; i < WANTED; i++)
		if (strcmp(wanted[i].name, name) == 0)
			return wanted[i].animal && strcmp(wanted[i].animal, fields[0]) == 0;
	return false;
}

/* Marks the figures that a row of the table says; whether there was one. */
static bool meet_figures(const struct published *published, char *fields[], bool met[])
{
	const char *field = strcmp(fields[2], "critical_care_limit") == 0 ? "care_limit" : fields[2];
	bool found = false;

	for (size_t i = 0; i < published->figure_count; i++) {
		const struct figure *figure = &published->figures[i];

		if (strcmp(figure->field, field) != 0 || !names_row(figure->name, fields) ||
		    !same_number(figure->has_low, figure->low, fields[3]) ||
		    !same_number(figure->has_high, figure->high, fields[4]) ||
		    figure->seen != (strcmp(fields[7], "seen") == 0))
			continue;
		found = met[i] = true;
	}
	return found;
}

/* Those of our fields that the table has. */
static bool is_in_table(const char *field)
{
	return strcmp(field, "brumation_day") != 0 && strcmp(field, "brumation_limits") != 0;
}

static void our_figures_agree_with_the_table(void **state)
{
	const char *path = getenv("WARMSIDE_SPECIES_TSV");
	FILE *file = path ? fopen(path, "r") : NULL;
	struct published ours;
	char *line = NULL;
	size_t size = 0;
	bool *met;

	(void)state;
	if (!file)
		skip();
	ours = published_shipped();
	met = must_calloc(ours.figure_count, sizeof *met);
	while (getline(&line, &size, file) > 0) {
		char *fields[9] = { NULL };
		bool wanted_field = false;

		assert_int_equal(split_tabs(line, fields, 9), 9);
		for (size_t i = 0; i < ours.figure_count; i++)
			wanted_field |= strcmp(ours.figures[i].field, fields[2]) == 0;
		if (!meet_figures(&ours, fields, met) && wanted_field && (*fields[3] || *fields[4]) &&
		    strcmp(fields[0], "(generic)") != 0)
			fail_msg("not in our copy: %s, %s, %s..%s", fields[0], fields[2], fields[3],
				 fields[4]);
	}
	for (size_t i = 0; i < ours.figure_count; i++)
		if (!met[i] && is_in_table(ours.figures[i].field))
			fail_msg("not in the table: %s, %s", ours.figures[i].name,
				 ours.figures[i].field);
	free(met);
	free(line);
	fclose(file);
	published_clear(&ours);
}

static void our_copy_agrees_with_the_table(void **state)
{
	const char *path = getenv("WARMSIDE_SPECIES_TSV");
	FILE *file = path ? fopen(path, "r") : NULL;
	struct published table;
	char *line = NULL;
	size_t size = 0, rows = 0;
	bool animals[WANTED] = { false }, *met;

	(void)state;
	if (!file)
		skip();
	table = published_shipped();
	met = must_calloc(table.critical_count, sizeof *met);
	while (getline(&line, &size, file) > 0) {
		char *fields[9] = { NULL };

		assert_int_equal(split_tabs(line, fields, 9), 9);
		for (size_t i = 0; i < WANTED; i++)
			animals[i] |= !wanted[i].animal || strcmp(wanted[i].animal, fields[0]) == 0;
		if (strncmp(fields[2], "critical_", 9) != 0)
			continue;
		meet_minima(&table, fields[8], met);
		rows++;
		if (!row_is_ours(&table, fields, met))
			fail_msg("not in our copy: %s, %s, %s..%s", fields[0], fields[2], fields[3],
				 fields[4]);
	}
	for (size_t i = 0; i < table.critical_count; i++)
		if (!met[i])
			fail_msg("not in the table: %s, %s", table.criticals[i].animal,
				 critical_word((int)table.criticals[i].field));
	for (size_t i = 0; i < WANTED; i++)
		assert_true(animals[i]);
	assert_true(rows > 20);
	free(met);
	free(line);
	fclose(file);
	published_clear(&table);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(every_animal_is_there, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(every_value_is_as_it_should_be, folder_new,
						folder_gone),
		cmocka_unit_test(every_published_animal_is_one_of_ours),
		cmocka_unit_test(every_figure_is_of_a_known_source),
		cmocka_unit_test(our_copy_agrees_with_the_table),
		cmocka_unit_test(our_figures_agree_with_the_table),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
