/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where a humidity is computed, from where, and when it is a series.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/computed.h"
#include "conf/layout.h"
#include "conf/remarks.h"
#include "conf/words.h"
#include "tests/conftext.h"

/* t is a thermometer, b gives both quantities, h the humidity alone. */
#define PROBES                                                                            \
	"bus \"r\" { port = \"/dev/none\"  speaks = \"modbus\"  baud = 9600  parity = \"none\" }\n" \
	"probe \"t\" { bus = \"r\"  address = 1  temperature = \"input 1 / 10\" }\n"           \
	"probe \"b\" { bus = \"r\"  address = 2  temperature = \"input 1 / 10\""             \
	"  humidity = \"input 2 / 10\" }\n"                                                  \
	"probe \"h\" { bus = \"r\"  address = 3  humidity = \"input 2 / 10\" }\n"

static struct conf *load_places(void **state, const char *places)
{
	char *text = must_print(PROBES "enclosure \"E1\" {\n%s\n}\n"
				"room { probe = \"b\" }\n", places);
	struct conf *conf = load_good(state, text);

	free(text);
	return conf;
}

/* What is computed where: "hot_spot<cool_side ", in the order of the places. */
static void expect(void **state, const char *places, const char *computed)
{
	struct conf *conf = load_places(state, places);
	char *text = must_copy("");

	for (size_t e = 0; e < conf->enclosure_count; e++)
		for (int p = 0; p < PLACES; p++) {
			enum place source;

			if (!computed_source(conf, &conf->enclosures[e], (enum place)p, &source))
				continue;
			char *more = must_print("%s%s<%s ", text, place_word((enum place)p),
						place_word(source));

			free(text);
			text = more;
		}
	assert_string_equal(text, computed);
	free(text);
	conf_free(conf);
}

static void the_coolest_source(void **state)
{
	expect(state, "hot_spot { probe = \"t\" } cool_side { probe = \"b\" }", "hot_spot<cool_side ");
	expect(state, "hot_spot { probe = \"t\" } warm_side { probe = \"b\" } cool_side { probe = \"b\" }",
	       "hot_spot<cool_side ");
	expect(state, "hot_spot { probe = \"b\" } warm_side { probe = \"b\" } cool_side { probe = \"t\" }",
	       "cool_side<warm_side ");
	expect(state, "hot_spot { probe = \"b\" } warm_side { probe = \"t\" } cool_side { probe = \"t\" }",
	       "warm_side<hot_spot cool_side<hot_spot ");
}

static void nothing_to_compute(void **state)
{
	expect(state, "warm_side { probe = \"b\" } cool_side { probe = \"b\" }", "");
	expect(state, "warm_side { probe = \"t\" } cool_side { probe = \"t\" }", "");
	/* A humidity without its temperature is no vapour, and needs one to be a humidity. */
	expect(state, "warm_side { probe = \"t\" } cool_side { probe = \"h\" }", "");
	expect(state, "warm_side { probe = \"h\" } cool_side { probe = \"b\" }", "");
	expect(state, "warm_side { humidity { day = \"40..60 %\" } } cool_side { probe = \"b\" }", "");
}

static void air_of_its_own(void **state)
{
	expect(state, "cool_side { probe = \"b\" } humid_hide { probe = \"t\" } eggs { probe = \"t\" }", "");
	expect(state, "cool_side { probe = \"t\" } humid_hide { probe = \"b\" } eggs { probe = \"b\" }", "");
}

/* The series of E1: "hot_spot temperature, hot_spot humidity computed, ". */
static char *series_of(const struct conf *conf)
{
	struct series series[MAX_SERIES];
	size_t count = enclosure_series(conf, &conf->enclosures[0], series);
	char *text = must_copy("");

	for (size_t s = 0; s < count; s++) {
		char *more = must_print("%s%s %s%s, ", text, place_word(series[s].place),
					quantity_word(series[s].quantity),
					series[s].computed ? " computed" : "");

		free(text);
		text = more;
	}
	return text;
}

static void a_series_where_it_is_wanted(void **state)
{
	static const struct {
		const char *rule, *more;
	} cases[] = {
		{ "", "" },
		{ "humidity { patience = \"2h\" }", "" },
		{ "humidity { day = \"10..40 %\" }", "hot_spot humidity computed, " },
		{ "humidity { limits = \"5..60 %\" }", "hot_spot humidity computed, " },
	};

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		char *places = must_print("hot_spot { probe = \"t\" %s } cool_side { probe = \"b\" }",
					  cases[i].rule);
		struct conf *conf = load_places(state, places);
		char *expected = must_print("hot_spot temperature, %scool_side temperature, "
					    "cool_side humidity, ", cases[i].more);
		char *found = series_of(conf);

		assert_string_equal(found, expected);
		free(found);
		free(expected);
		conf_free(conf);
		free(places);
	}
}

/* How many remarks say that; takes the configuration. */
static size_t remarks_of(struct conf *conf, const char *words)
{
	struct faults remarks = { 0 };
	size_t count = 0;

	conf_remarks(conf, 0, &remarks);
	for (size_t i = 0; i < remarks.count; i++)
		count += strstr(remarks.list[i].text, words) != NULL;
	faults_clear(&remarks);
	conf_free(conf);
	return count;
}

/* How many remarks say that of E1. */
static size_t remarked(void **state, const char *places, const char *words)
{
	return remarks_of(load_places(state, places), words);
}

static size_t unjudged(void **state, const char *places)
{
	return remarked(state, places, "\"E1\": the humidity of its warm side is not judged");
}

static void a_band_that_nothing_is_held_against(void **state)
{
#define WANTED "warm_side { probe = \"t\"  humidity { day = \"40..60 %\" } }"
	assert_int_equal(unjudged(state, WANTED " cool_side { probe = \"b\" }"), 0);
	assert_int_equal(unjudged(state, WANTED " cool_side { probe = \"t\" }"), 1);
	assert_int_equal(unjudged(state, WANTED " humid_hide { probe = \"b\" }"), 1);
	assert_int_equal(unjudged(state, "warm_side { probe = \"t\" }"), 0);
	/* Without a probe it is not watched, as a species' place may be. */
	assert_int_equal(unjudged(state, "warm_side { humidity { day = \"40..60 %\" } }"
					 " cool_side { probe = \"b\" }"), 0);
}

static void a_band_that_a_computed_one_is_held_against(void **state)
{
	static const char words[] = "\"E1\": the humidity of its warm side is computed from that of its "
				    "cool side, and judged";

	assert_int_equal(remarked(state, WANTED " cool_side { probe = \"b\" }", words), 1);
	assert_int_equal(remarked(state, "warm_side { probe = \"t\" } cool_side { probe = \"b\" }",
				  words), 0);
	assert_int_equal(remarked(state, WANTED " cool_side { probe = \"t\" }", words), 0);
}

/* Only what is measured and wanted can be told of. */
static void a_misting_that_cannot_be_told(void **state)
{
#define MISTED "misting_due = \"6h\" "
#define BAND "humidity { day = \"40..60 %\" } }"
	static const char words[] = "\"E1\": no misting is told as due: no probe gives";

	assert_int_equal(remarked(state, MISTED "cool_side { probe = \"b\" " BAND, words), 0);
	assert_int_equal(remarked(state, MISTED "cool_side { probe = \"b\" }", words), 1);
	assert_int_equal(remarked(state, MISTED "humid_hide { probe = \"b\" " BAND, words), 1);
	assert_int_equal(remarked(state, MISTED WANTED "cool_side { probe = \"b\" }", words), 1);
	assert_int_equal(remarked(state, "cool_side { probe = \"b\" }", words), 0);
	assert_int_equal(remarked(state, MISTED "in_service = \"no\" cool_side { probe = \"b\" }",
				  words), 0);
}

/* Nor where nothing is known of what dries it. */
static void a_misting_without_a_room(void **state)
{
	static const char words[] = "no misting is told as due: no probe of the room";
#define TUB "enclosure \"E1\" { " MISTED "cool_side { probe = \"b\" " BAND " }\n"

	assert_int_equal(remarks_of(load_good(state, PROBES TUB), words), 1);
	assert_int_equal(remarks_of(load_good(state, PROBES TUB "room { probe = \"t\" }\n"), words), 1);
	assert_int_equal(remarks_of(load_good(state, PROBES TUB "room { probe = \"b\" }\n"), words), 0);
	assert_int_equal(remarked(state, "cool_side { probe = \"b\" " BAND, words), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_coolest_source),
		cmocka_unit_test(nothing_to_compute),
		cmocka_unit_test(air_of_its_own),
		cmocka_unit_test(a_series_where_it_is_wanted),
		cmocka_unit_test(a_band_that_nothing_is_held_against),
		cmocka_unit_test(a_band_that_a_computed_one_is_held_against),
		cmocka_unit_test(a_misting_that_cannot_be_told),
		cmocka_unit_test(a_misting_without_a_room),
	};

	return cmocka_run_group_tests(tests, folder_new, folder_gone);
}
