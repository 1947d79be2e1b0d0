/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <time.h>

#include "report/moment.h"

static const double FRIDAY = 1769760000; /* 2026-01-30T08:00:00Z, a Friday */

static void short_ones_name_the_day(void **state)
{
	(void)state;
	char text[MEASURE_TEXT];

	assert_string_equal(moment_short(FRIDAY, FRIDAY, text), "Fri 08:00");
	assert_string_equal(moment_short(FRIDAY + 86400 + 600, FRIDAY, text), "Sat 08:10");
	assert_string_equal(moment_short(FRIDAY + 6 * 86400 - 60, FRIDAY, text), "Thu 07:59");
	assert_string_equal(moment_short(FRIDAY + 7 * 86400, FRIDAY, text), "6 Feb 08:00");
	assert_string_equal(moment_short(FRIDAY + 20 * 86400, FRIDAY, text), "19 Feb 08:00");
}

static void phrases_name_the_time_of_day(void **state)
{
	(void)state;
	static const struct {
		double hours;
		const char *phrase;
	} cases[] = {
		{ 0, "now" },
		{ -1, "now" },
		{ 0.5, "on Friday morning" },
		{ 4, "on Friday afternoon" },
		{ 10, "on Friday evening" },
		{ 13.9, "on Friday evening" },
		{ 14, "on Friday night" },
		{ 15.9, "on Friday night" },
		{ 16, "on Friday night" },
		{ 20.9, "on Friday night" },
		{ 21, "on Saturday morning" },
		{ 24 * 6 - 1, "on Thursday morning" },
		{ 24 * 6, "on Thursday 5 February" },
	};
	char text[MEASURE_TEXT];

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
		assert_string_equal(moment_phrase(FRIDAY + cases[i].hours * 3600, FRIDAY, text),
				    cases[i].phrase);
}

static void the_night_of_now_is_tonight(void **state)
{
	(void)state;
	char text[MEASURE_TEXT];

	for (int hour = 14; hour < 20; hour++)
		assert_string_equal(moment_phrase(FRIDAY + 20.9 * 3600, FRIDAY + hour * 3600, text),
				    "tonight");
	assert_string_equal(moment_phrase(FRIDAY + 38 * 3600, FRIDAY + 20.9 * 3600, text),
			    "on Saturday night");
}

static void they_are_local(void **state)
{
	(void)state;
	char text[MEASURE_TEXT];

	setenv("TZ", "CET-1", 1);
	tzset();
	assert_string_equal(moment_short(FRIDAY, FRIDAY, text), "Fri 09:00");
	assert_string_equal(moment_phrase(FRIDAY + 13 * 3600, FRIDAY, text),
			    "on Friday night");
	setenv("TZ", "UTC", 1);
	tzset();
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(short_ones_name_the_day),
		cmocka_unit_test(phrases_name_the_time_of_day),
		cmocka_unit_test(the_night_of_now_is_tonight),
		cmocka_unit_test(they_are_local),
	};

	setenv("TZ", "UTC", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
