/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Copies of conf/species.conf with one thing wrong, which tests/species_check.h must
 * find: values beyond anything, figures their source has not, forms of a source that
 * are none.
 */
#include "tests/cm.h"

#include "conf/memory.h"
#include "tests/conftext.h"
#include "tests/species_check.h"

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
	{ "blue-tongue skink", "12..38 C", "12..44 C",
	  "blue-tongue skink, hot_spot temperature: the upper limit of 44 C does not lie below the "
	  "critical maximum, 43.9 C" },
	{ "bearded dragon", "12..42 C", "12..43 C", "does not lie below the critical maximum, 42.3 C" },
	{ "bearded dragon", "limits = \"12..42 C\"", "", "bearded dragon, hot_spot temperature: there are "
	  "no limits, and the band lies below the critical maximum" },
	{ "corn snake", "10..36 C", "10..41 C", "corn snake, warm_side temperature: the upper limit" },
	{ "garter snake", "\"8..32 C", "\"7..32 C",
	  "garter snake, cool_side temperature: the lower limit of 7 C keeps no 2 C from the critical "
	  "minimum, 5.8 C" },
	{ "Hermann tortoise", "\"8..36 C", "\"6..36 C",
	  "Hermann tortoise, warm_side temperature: the lower" },
	{ "crested gecko", "12..28 C", "12..29 C",
	  "crested gecko, warm_side temperature: the upper limit of 29 C passes the care limit, 28 C" },
	{ "jewelled lizard", "night = \"15..26 C\"", "night = \"15..26 C\"\nlimits = \"8..48 C\"",
	  "jewelled lizard, hot_spot temperature: limits has no source" },
	{ "savannah monitor", "night = \"22..28 C\"\n\t\t\tsource = \"",
	  "night = \"22..28 C\"\n\t\t\tlimits = \"16..58 C\"\n\t\t\tsource = \"limits: memory; ",
	  "the upper limit of 58 C does not lie below the critical maximum, 43.5 C" },
	{ "ball python", "limits = \"15..36 C\"", "", "ball python, warm_side temperature: there are no" },
	{ "ball python", "; limits: common practice, no source", "",
	  "ball python, warm_side temperature: limits has no source" },
	{ "ball python", "day: Env", "night: Env", "ball python, warm_side temperature: day has no source" },
	{ "uromastyx", "limits = \"12..40 C\"", "limits = \"12..40 C\"\npatience = \"2h\"",
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
	  "corn snake, brumation, hot_spot temperature: the upper limit of 41 C lies above the most there "
	  "may be, 18 C" },
	{ "uromastyx", "season \"brumation\" {\n\t\thot_spot {", "season \"brumation\" {\n\t\teggs {",
	  "uromastyx, brumation: nothing is said of hot_spot" },
	/* What is far beyond anything, whatever it is said to be from. */
	{ "ball python", "15..32 C", "5..45 C", "ball python, cool_side temperature: the upper limit of 45 C "
	  "lies above the most there may be, 36 C" },
	{ "ball python", "15..32 C", "5..32 C", "ball python, cool_side temperature: the lower limit of 5 C "
	  "lies below the least there may be, 12 C" },
	{ "leopard gecko", "12..38 C", "12..48 C", "leopard gecko, warm_side temperature: the upper" },
	{ "leopard gecko", "12..35 C", "12..60 C", "leopard gecko, hot_spot temperature: the upper" },
	{ "leopard gecko", "12..35 C", "12..40 C", "above the most there may be, 35 C" },
	{ "Hermann tortoise", "\"3..10 C\"", "\"-5..10 C\"",
	  "Hermann tortoise, brumation, hot_spot temperature: the lower limit of -5 C lies below" },
	{ "garter snake", "\"3..15 C\"", "\"-3..30 C\"", "garter snake, brumation, hot_spot temperature: the upper" },
	{ "garter snake", "\"3..15 C\"", "\"2..15 C\"", "the least there may be, 3 C" },
	{ "red-footed tortoise", "15..34 C", "2..34 C", "red-footed tortoise, cool_side temperature: the lower" },
	{ "python eggs", "28..34 C", "10..45 C", "python eggs, eggs temperature: the upper" },
	{ "python eggs", "28..34 C", "10..34 C", "python eggs, eggs temperature: the lower" },
	{ "uromastyx", "12..58 C", "12..80 C", "uromastyx, hot_spot temperature: the upper" },
	{ "ball python", "30..95 %", "0..100 %", "ball python, cool_side humidity: limits of 0..100 %" },
	{ "crested gecko", "limits_patience = \"12h\"", "", "and has no limits_patience" },
	{ "uromastyx", "5..60 %", "5..90 %", "limits of 5..90 % lie more than 35 % from the band" },
	/* Nights. */
	{ "ball python", "limits = \"15..32 C\"", "night = \"23..26 C\"\nlimits = \"15..32 C\"",
	  "ball python, cool_side temperature: night: 23 is no figure of" },
	{ "bearded dragon", "18..28 C", "18..40 C", "a lamp left on at night is not told" },
	{ "panther chameleon", "18..24 C", "18..30 C", "panther chameleon, hot_spot temperature: night: 30 is no" },
	/* Figures that their source has not. */
	{ "green iguana", "29..32 C", "20..36 C",
	  "green iguana, warm_side temperature: day: 20 is no figure of \"lizard husbandry page of a "
	  "veterinary wiki\"" },
	{ "uromastyx", "Lagarto cola espinosa (Uromastyx), exotics clinic", "Iguanas: alojamiento, exotics "
	  "clinic", "uromastyx, hot_spot temperature: day: 40 is no figure of \"Iguanas" },
	{ "African fat-tailed gecko", "(32, and 1 C either way)", "(31, and 1 C either way)", "day: 31 is no" },
	{ "African fat-tailed gecko", "31..33 C", "31..34 C", "day: 34 is no figure of \"hobby page" },
	{ "green tree python", "28..31 C", "28..34 C", "day: 34 is no figure of \"memory\"" },
	{ "panther chameleon", "\"12..38 C\"", "\"12..37 C\"",
	  "limits: 37 is no figure of \"GlobTherm\"" },
	{ "green iguana", "15..40 C", "15..41 C", "limits: 41 is no figure of \"Basic Husbandry" },
	{ "veiled chameleon", "night: lowest memory, highest from a reptile magazine's article on veiled "
	  "chameleons, 1997, C", "night: lowest memory", "night: nobody says the high end" },
	/* Winter rest. */
	{ "Greek tortoise", "limits_patience = \"12h\"", "", "and has no limits_patience" },
	{ "bearded dragon", "day = \"10..60 %\"", "", "bearded dragon, brumation: nothing is said of the "
	  "humidity" },
};

/* The copy with that mistake in it has this fault, and none of another species. */
static void found(void **state, const struct published *table, const char *shipped,
		  const struct mistake *mistake)
{
	struct faults faults = { 0 };
	char *text = changed(shipped, mistake->species, mistake->from, mistake->to);
	struct conf *conf = load_good(state, text);
	size_t others = 0;
	bool said = false;

	species_check(conf, table, &faults);
	for (size_t i = 0; i < faults.count; i++) {
		others += !strstr(faults.list[i].text, mistake->species);
		said |= strstr(faults.list[i].text, mistake->found) != NULL;
	}
	if (others || !said) {
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
	struct published table = published_shipped();
	char *text = shipped_species();

	for (size_t i = 0; i < sizeof mistakes / sizeof *mistakes; i++)
		found(state, &table, text, &mistakes[i]);
	published_clear(&table);
	free(text);
}

/* The loader itself refuses a band outside its limits. */
static void a_band_outside_limits_is_refused(void **state)
{
	char *text = shipped_species();
	char *copy = changed(text, "ball python", "15..36 C", "15..31 C");
	struct faults faults = { 0 };

	assert_null(load_bytes(state, copy, strlen(copy), &faults));
	assert_true(faults.count > 0);
	assert_non_null(strstr(faults.list[0].text, "must lie within the limits"));
	faults_clear(&faults);
	free(copy);
	free(text);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(each_mistake_is_found, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(a_band_outside_limits_is_refused, folder_new,
						folder_gone),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
