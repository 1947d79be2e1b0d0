/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The shipped conf/species.conf, read by the loader: every animal is there, every value
 * has a source of an allowed form, bands lie inside limits and limits away from critical
 * temperatures; and copies with one thing wrong, which must be found.
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

static char *path_in_tree(const char *name)
{
	const char *top = getenv("top_srcdir");

	return must_print("%s/%s", top ? top : ".", name);
}

static struct published published(void)
{
	struct published published;
	char *folder = path_in_tree("tests/reference");

	published_read(folder, &published);
	free(folder);
	return published;
}

static char *shipped_text(void)
{
	char *path = path_in_tree("conf/species.conf");
	FILE *file = fopen(path, "r");
	char *text = must_calloc(1, 1 << 20);

	assert_non_null(file);
	assert_in_range(fread(text, 1, (1 << 20) - 1, file), 1000, (1 << 20) - 2);
	fclose(file);
	free(path);
	return text;
}

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
	char *text = shipped_text();
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
	struct published table = published();
	struct faults faults = { 0 };
	char *text = shipped_text();
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
	struct published table = published();

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

/* ---- copies with one thing wrong -------------------------------------------- */

/* That species alone, with the first `from` in it replaced. */
static char *changed(const char *text, const char *species, const char *from, const char *to)
{
	char *head = must_print("species \"%s\" {", species);
	const char *begin = strstr(text, head), *at, *end;

	assert_non_null(begin);
	free(head);
	end = strstr(begin, "\n}\n");
	at = strstr(begin, from);
	assert_true(at && end && at < end);
	return must_print("%.*s%s%.*s\n}\n", (int)(at - begin), begin, to,
			  (int)(end - at - (ptrdiff_t)strlen(from)), at + strlen(from));
}

static const struct mistake {
	const char *species, *from, *to, *found;
} mistakes[] = {
	{ "blue-tongue skink", "10..41 C", "10..44 C",
	  "blue-tongue skink, hot_spot temperature: the upper limit of 44 C keeps no 2 C from the "
	  "critical maximum, 43.9 C" },
	{ "corn snake", "10..36 C", "10..41 C", "corn snake, warm_side temperature: the upper limit" },
	{ "garter snake", "\"8..32 C", "\"7..32 C",
	  "garter snake, cool_side temperature: the lower limit of 7 C keeps no 2 C from the critical "
	  "minimum, 5.8 C" },
	{ "Hermann tortoise", "\"8..36 C", "\"6..36 C",
	  "Hermann tortoise, warm_side temperature: the lower" },
	{ "crested gecko", "12..28 C", "12..29 C",
	  "crested gecko, warm_side temperature: the upper limit of 29 C passes the care limit, 28 C" },
	{ "jewelled lizard", "8..48 C", "8..60 C",
	  "jewelled lizard, hot_spot temperature: the upper limit of 60 C lies far above" },
	{ "ball python", "limits = \"15..36 C\"", "", "ball python, warm_side temperature: there are no" },
	{ "ball python", "; limits: common practice, no source", "",
	  "ball python, warm_side temperature: limits has no source" },
	{ "ball python", "day: Env", "night: Env", "ball python, warm_side temperature: day has no source" },
	{ "uromastyx", "limits = \"12..42 C\"", "limits = \"12..42 C\"\npatience = \"2h\"",
	  "uromastyx, warm_side temperature: patience has no source" },
	{ "tokay gecko", "memory", "A forum on tokays, 2011, D",
	  "tokay gecko, hot_spot temperature: the source of day, \"A forum on tokays, 2011, D\", is no "
	  "form" },
	{ "tokay gecko", "undated, B", "undated, A", "tokay gecko, hot_spot temperature: the source of night" },
	{ "tokay gecko", "undated, B", "1999, B", "tokay gecko, hot_spot temperature: the source of night" },
	{ "day gecko", "memory", "memory, mostly", "day gecko, hot_spot temperature: the source of day" },
	{ "day gecko", "memory", "memory mostly", "goes on with \" mostly\"" },
	{ "boa constrictor", "warm_side {", "warm_side {\nhumidity { day = \"40..60 %\" "
	  "limits = \"20..80 %\" source = \"memory\" }",
	  "boa constrictor, warm_side humidity: humidity is judged where" },
	{ "boa constrictor", "season \"shedding\" {", "season \"shedding\" { from = \"11-01\" to = \"12-01\"",
	  "boa constrictor, shedding: has dates" },
	{ "corn snake", "\"4..18 C\"", "\"4..41 C\"",
	  "corn snake, brumation, hot_spot temperature: the upper limit of 41 C keeps no" },
	{ "uromastyx", "season \"brumation\" {\n\t\thot_spot {", "season \"brumation\" {\n\t\teggs {",
	  "uromastyx, brumation: nothing is said of hot_spot" },
};

/* The copy with that mistake in it has this one fault and no other. */
static void found(void **state, const struct published *table, const char *shipped,
		  const struct mistake *mistake)
{
	struct faults faults = { 0 };
	char *text = changed(shipped, mistake->species, mistake->from, mistake->to);
	struct conf *conf = load_good(state, text);
	size_t others = 0;

	species_check(conf, table, &faults);
	for (size_t i = 0; i < faults.count; i++)
		others += !strstr(faults.list[i].text, mistake->species);
	if (faults.count == 0 || others || !strstr(faults.list[0].text, mistake->found)) {
		for (size_t i = 0; i < faults.count; i++)
			print_error("found: %s\n", faults.list[i].text);
		fail_msg("wanted: %s", mistake->found);
	}
	faults_clear(&faults);
	conf_free(conf);
	free(text);
}

static void each_mistake_is_found(void **state)
{
	struct published table = published();
	char *text = shipped_text();

	for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++)
		found(state, &table, text, &mistakes[i]);
	published_clear(&table);
	free(text);
}

/* The loader itself refuses a band outside its limits. */
static void a_band_outside_limits_is_refused(void **state)
{
	char *text = shipped_text();
	char *copy = changed(text, "ball python", "15..36 C", "15..31 C");
	struct faults faults = { 0 };

	assert_null(load_bytes(state, copy, strlen(copy), &faults));
	assert_true(faults.count > 0);
	assert_non_null(strstr(faults.list[0].text, "must lie within the limits"));
	faults_clear(&faults);
	free(copy);
	free(text);
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
	/* A forum's lethal temperatures are no measurement. */
	return ours || (strcmp(field, "critical_max") == 0 && strstr(fields[8], "weight=D"));
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
	table = published();
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
		cmocka_unit_test_setup_teardown(each_mistake_is_found, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(a_band_outside_limits_is_refused, folder_new,
						folder_gone),
		cmocka_unit_test(our_copy_agrees_with_the_table),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
