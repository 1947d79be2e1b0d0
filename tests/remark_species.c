/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An enclosure whose own values reach beyond its species' limits is remarked on, and
 * none else.
 */
#include "tests/cm.h"

#include "conf/remarks.h"
#include "tests/conftext.h"

static const char species[] =
	"species \"s\" {\n"
	"  warm_side { temperature { day = \"28..32 C\" night = \"18..32 C\" limits = \"10..36 C\" } }\n"
	"  cool_side { humidity { day = \"40..60 %\" } }\n"
	"  season \"rest\" { warm_side { temperature { day = \"8..13 C\" night = \"8..13 C\"\n"
	"    limits = \"4..18 C\" } } } }\n";

/* The remark on E1 that speaks of limits of the species, or NULL; malloc'ed. */
static char *remark(void **state, const char *units, const char *places)
{
	char *text = must_print("%s%senclosure \"E1\" { species = \"s\" %s }", units, species, places);
	struct conf *conf = load_good(state, text);
	struct faults remarks = { 0 };
	char *found = NULL;

	conf_remarks(conf, 0, &remarks);
	for (size_t i = 0; i < remarks.count; i++)
		if (strstr(remarks.list[i].text, "beyond the limits of its species")) {
			assert_null(found);
			found = must_copy(remarks.list[i].text);
		}
	faults_clear(&remarks);
	conf_free(conf);
	free(text);
	return found;
}

static void remarked(void **state, const char *places, const char *expected)
{
	char *found = remark(state, "", places);

	if (expected)
		assert_string_equal(found ? found : "(nothing)", expected);
	else
		assert_null(found);
	free(found);
}

#define WARM(keys) "warm_side { temperature { " keys " } }"

static void inside_is_no_matter(void **state)
{
	remarked(state, "", NULL);
	remarked(state, WARM("limits = \"10..36 C\""), NULL);
	remarked(state, WARM("day = \"20..30 C\" limits = \"15..33 C\""), NULL);
	/* Where the species has no limits, none is passed. */
	remarked(state, "cool_side { humidity { limits = \"1..99 %\" } }", NULL);
	remarked(state, "hot_spot { temperature { day = \"40..50 C\" limits = \"5..60 C\" } }", NULL);
}

static void wider_limits(void **state)
{
	remarked(state, WARM("limits = \"10..37 C\""),
		 "enclosure \"E1\": the limits of its warm side temperature, 10..37 °C, reach beyond the "
		 "limits of its species s, 10..36 °C; is that meant?");
	remarked(state, WARM("limits = \"9.5..36 C\""),
		 "enclosure \"E1\": the limits of its warm side temperature, 9.5..36 °C, reach beyond the "
		 "limits of its species s, 10..36 °C; is that meant?");
}

static void a_band_out_there_is_told_first(void **state)
{
	remarked(state, WARM("day = \"33..37 C\" limits = \"10..40 C\""),
		 "enclosure \"E1\": the band of the day of its warm side temperature, 33..37 °C, reaches "
		 "beyond the limits of its species s, 10..36 °C; is that meant?");
	remarked(state, WARM("night = \"8..20 C\" limits = \"5..36 C\""),
		 "enclosure \"E1\": the band of the night of its warm side temperature, 8..20 °C, reaches "
		 "beyond the limits of its species s, 10..36 °C; is that meant?");
}

static void in_the_keepers_units(void **state)
{
	char *found = remark(state, "units = \"F\"\n", WARM("limits = \"50..104 F\""));

	assert_non_null(found);
	assert_non_null(strstr(found, "50..104 °F, reach beyond the limits of its species s, "
				      "50..96.8 °F"));
	free(found);
}

#define REST(keys) "season \"rest\" { from = \"11-15\" to = \"02-15\" " keys " }"

static void seasons(void **state)
{
	/* Colder than the ordinary limits, as the species' own rest is. */
	remarked(state, REST(""), NULL);
	remarked(state, REST(WARM("day = \"5..9 C\" night = \"5..9 C\"")), NULL);
	remarked(state, REST(WARM("limits = \"2..18 C\"")),
		 "enclosure \"E1\", season \"rest\": the limits of its warm side temperature, 2..18 °C, "
		 "reach beyond the limits of its species s, 4..18 °C; is that meant?");
	/* One that the species does not know. */
	remarked(state,
		 "season \"heat\" { from = \"07-01\" to = \"08-01\" " WARM("limits = \"10..38 C\"") " }",
		 "enclosure \"E1\", season \"heat\": the limits of its warm side temperature, 10..38 °C, "
		 "reach beyond the limits of its species s, 10..36 °C; is that meant?");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(inside_is_no_matter, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(wider_limits, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(a_band_out_there_is_told_first, folder_new,
						folder_gone),
		cmocka_unit_test_setup_teardown(in_the_keepers_units, folder_new, folder_gone),
		cmocka_unit_test_setup_teardown(seasons, folder_new, folder_gone),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
