/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A season that lets one place rest and leaves another as warm as ever is remarked on,
 * and so is a hot spot judged by the surface's band; none else.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/remarks.h"
#include "tests/conftext.h"

static const char head[] =
	"bus \"b\" { port = \"/dev/b\" speaks = \"modbus\" }\n"
	"probe \"h\" { bus = \"b\" address = 1 temperature = \"input 1\" }\n"
	"probe \"w\" { bus = \"b\" address = 2 temperature = \"input 1\" }\n"
	"probe \"c\" { bus = \"b\" address = 3 temperature = \"input 1\" }\n"
	"probe \"d\" { bus = \"b\" address = 4 humidity = \"input 1\" }\n"
	"species \"s\" {\n"
	"  hot_spot { temperature { day = \"45..55 C\" } humidity { day = \"10..40 %\" } }\n"
	"  warm_side { temperature { day = \"28..32 C\" } }\n"
	"  cool_side { temperature { day = \"24..28 C\" } } }\n";

/* All remarks that hold the word, each as a line; malloc'ed. */
static char *remarks_with(void **state, const char *word, const char *enclosure)
{
	char *text = must_print("%senclosure \"E1\" { %s }", head, enclosure);
	struct conf *conf = load_good(state, text);
	struct faults remarks = { 0 };
	char *found = must_copy("");

	conf_remarks(conf, 1773446400, &remarks); /* 2026-03-14T00:00:00Z */
	for (size_t i = 0; i < remarks.count; i++)
		if (strstr(remarks.list[i].text, word)) {
			char *longer = must_print("%s%s\n", found, remarks.list[i].text);

			free(found);
			found = longer;
		}
	faults_clear(&remarks);
	conf_free(conf);
	free(text);
	return found;
}

static void remarked(void **state, const char *word, const char *enclosure, const char *expected)
{
	char *found = remarks_with(state, word, enclosure);

	assert_string_equal(found, expected);
	free(found);
}

#define SIDES "species = \"s\" warm_side { probe = \"w\" } cool_side { probe = \"c\" } "
#define SEASON(says) "season \"X\" { from = \"11-15\" to = \"02-15\" " says " }"
#define DAY(place, day) place " { temperature { day = \"" day "\" } } "

/* It is over at the change to day, at 8 o'clock: at midnight the day before still is. */
static void what_is_over(void **state)
{
	static const char once[] = SIDES "season \"care\" { until = \"2026-03-%s\" "
				   DAY("cool_side", "26..29 C") "}";
	char text[400];

	snprintf(text, sizeof text, once, "14");
	remarked(state, "is over", text, "");
	snprintf(text, sizeof text, once, "13");
	remarked(state, "is over", text,
		 "season \"care\" of enclosure \"E1\" is over since 2026-03-13: take it away, or is the "
		 "year a slip?\n");
	remarked(state, "is over", SIDES SEASON(DAY("cool_side", "26..29 C")), "");
}

static void half_a_rest(void **state)
{
	remarked(state, "leaves its", SIDES SEASON(DAY("cool_side", "8..13 C")),
		 "season \"X\" of enclosure \"E1\" moves its cool side and leaves its warm side as it "
		 "is: give that a band in the season too\n");
	remarked(state, "leaves its",
		 SIDES "hot_spot { probe = \"h\" temperature { day = \"30..40 C\" } }"
		 SEASON(DAY("cool_side", "8..13 C") "warm_side { temperature { limits = \"5..40 C\" } }"),
		 "season \"X\" of enclosure \"E1\" moves its cool side and leaves its hot spot as it "
		 "is: give that a band in the season too\n"
		 "season \"X\" of enclosure \"E1\" moves its cool side and leaves its warm side as it "
		 "is: give that a band in the season too\n");
}

static void whole_or_no_rests(void **state)
{
	remarked(state, "leaves its",
		 SIDES SEASON(DAY("cool_side", "8..13 C") DAY("warm_side", "8..13 C")), "");
	/* 5 °C lower is a cool spell, and so is a colder night. */
	remarked(state, "leaves its", SIDES SEASON(DAY("cool_side", "19..23 C")), "");
	remarked(state, "leaves its",
		 SIDES SEASON("cool_side { temperature { night = \"8..13 C\" } }"), "");
	remarked(state, "leaves its", SIDES SEASON(DAY("cool_side", "30..34 C")), "");
	/* Nobody measures the other place, or wants anything of it. */
	remarked(state, "leaves its",
		 "species = \"s\" cool_side { probe = \"c\" }" SEASON(DAY("cool_side", "8..13 C")), "");
	remarked(state, "leaves its",
		 "warm_side { probe = \"w\" } cool_side { probe = \"c\" temperature { day = \"24..28 C\" } }"
		 SEASON(DAY("cool_side", "8..13 C")), "");
}

static void advice_alone_is_something(void **state)
{
	remarked(state, "changes nothing", SIDES SEASON("advice { too_cold = \"Ask.\" }"), "");
	remarked(state, "changes nothing", SIDES SEASON(""),
		 "season \"X\" of enclosure \"E1\" changes nothing: it says nothing of any place, and "
		 "its species has no season of that name\n");
}

static void a_hot_spot_of_the_surface(void **state)
{
	static const char told[] =
		"enclosure \"E1\": the band of its hot spot is of the surface, as an infrared "
		"thermometer reads it; a probe there reads otherwise: give it a band of its own\n";

	remarked(state, "of the surface", "species = \"s\" hot_spot { probe = \"h\" }", told);
	remarked(state, "of the surface",
		 "species = \"s\" hot_spot { probe = \"h\" temperature { patience = \"2h\" } }", told);
	remarked(state, "of the surface",
		 "species = \"s\" hot_spot { probe = \"h\" temperature { day = \"32..38 C\" } }", "");
	remarked(state, "of the surface", "species = \"s\" hot_spot { probe = \"d\" }", "");
	remarked(state, "of the surface", SIDES, "");
	remarked(state, "of the surface", "hot_spot { probe = \"h\" temperature { day = \"45..55 C\" } }",
		 "");
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, folder_new, folder_gone)

int main(void)
{
	const struct CMUnitTest tests[] = {
		IN_FOLDER(what_is_over),
		IN_FOLDER(half_a_rest),
		IN_FOLDER(whole_or_no_rests),
		IN_FOLDER(advice_alone_is_something),
		IN_FOLDER(a_hot_spot_of_the_surface),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
