/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <stdio.h>

#include "report/timeaxis.h"

static const double MONDAY = 1767567600; /* 2026-01-05T00:00+01:00: 1767567600 by date(1) */

static void a_day_in_hours(void **state)
{
	(void)state;
	struct tick ticks[MOST_TICKS];
	size_t count = time_ticks((struct window){ MONDAY + 13 * 3600, MONDAY + 37 * 3600 }, 1000,
				  80, ticks);

	assert_int_equal(count, 12);
	assert_near(ticks[0].at, MONDAY + 14 * 3600, 0);
	assert_string_equal(ticks[0].label, "14:00");
	assert_string_equal(ticks[0].below, "Mon 5 Jan");
	assert_string_equal(ticks[1].below, "");
	assert_near(ticks[5].at, MONDAY + 86400, 0);
	assert_string_equal(ticks[5].label, "00:00");
	assert_string_equal(ticks[5].below, "Tue 6 Jan");
}

/* Clocks go forward on 2026-03-29 at 02:00 in the zone of these tests, and
 * back on 2026-10-25 at 03:00 (Directive 2000/84/EC: last Sundays of March
 * and October). */
static void days_of_23_and_25_hours(void **state)
{
	(void)state;
	struct tick ticks[MOST_TICKS];
	const double spring = 1774738800; /* 2026-03-29T00:00+01:00 */
	const double autumn = 1792879200; /* 2026-10-25T00:00+02:00 */
	size_t count = time_ticks((struct window){ spring, spring + 23 * 3600 }, 1000, 100, ticks);

	assert_int_equal(count, 8);
	assert_near(ticks[1].at, spring + 2 * 3600, 0);
	assert_string_equal(ticks[1].label, "03:00");
	assert_near(ticks[7].at, spring + 20 * 3600, 0);
	assert_string_equal(ticks[7].label, "21:00");
	count = time_ticks((struct window){ autumn, autumn + 25 * 3600 }, 1000, 100, ticks);
	assert_int_equal(count, 8);
	assert_near(ticks[1].at, autumn + 4 * 3600, 0);
	assert_string_equal(ticks[1].label, "03:00");
}

/* What the ticks of a window say, "@" and its hour behind each. */
static void assert_ticks(double from, int hours, const char *expected)
{
	struct tick ticks[MOST_TICKS];
	size_t count = time_ticks((struct window){ from, from + hours * 3600.0 }, 720, 84, ticks);
	char text[400] = "";

	for (size_t i = 0; i < count; i++)
		snprintf(text + strlen(text), sizeof text - strlen(text), "%s@%g ",
			 ticks[i].label, (ticks[i].at - from) / 3600);
	assert_string_equal(text, expected);
}

static void ticks_around_the_change(void **state)
{
	(void)state;
	const double spring = 1774738800; /* 2026-03-29T00:00+01:00 */
	const double autumn = 1792879200; /* 2026-10-25T00:00+02:00 */

	/* There is no 02:00; even hours stay even. */
	assert_ticks(spring, 16, "00:00@0 04:00@3 06:00@5 08:00@7 10:00@9 12:00@11 14:00@13 "
				 "16:00@15 ");
	assert_ticks(spring, 8, "00:00@0 01:00@1 03:00@2 04:00@3 05:00@4 06:00@5 07:00@6 08:00@7 ");
	/* There are two. */
	assert_ticks(autumn, 8, "00:00@0 01:00@1 02:00@2 02:00@3 03:00@4 04:00@5 05:00@6 06:00@7 ");
	assert_ticks(autumn, 16, "00:00@0 02:00@2 04:00@5 06:00@7 08:00@9 10:00@11 12:00@13 "
				 "14:00@15 ");
	assert_ticks(autumn + 2 * 3600, 3, "02:00@0 02:30@0.5 02:00@1 02:30@1.5 03:00@2 03:30@2.5 ");
}

static void days_months_and_years(void **state)
{
	(void)state;
	struct tick ticks[MOST_TICKS];
	size_t count = time_ticks((struct window){ MONDAY - 3 * 86400, MONDAY + 11 * 86400 }, 1000,
				  60, ticks);

	assert_int_equal(count, 14);
	assert_string_equal(ticks[0].label, "Fri 2");
	assert_string_equal(ticks[0].below, "January 2026");
	assert_string_equal(ticks[13].below, "");
	count = time_ticks((struct window){ MONDAY - 200 * 86400.0, MONDAY }, 1000, 80, ticks);
	assert_int_equal(count, 7); /* 1 July 2025 to 1 January 2026 */
	assert_string_equal(ticks[0].label, "Jul");
	assert_string_equal(ticks[0].below, "2025");
	assert_string_equal(ticks[6].label, "Jan");
	assert_string_equal(ticks[6].below, "2026");
	count = time_ticks((struct window){ MONDAY - 30 * 365 * 86400.0, MONDAY }, 1000, 80, ticks);
	assert_in_range(count, 2, 4);
	assert_string_equal(ticks[0].label, "2000");
}

static void values_are_round(void **state)
{
	(void)state;
	struct tick ticks[MOST_TICKS];
	size_t count = value_ticks(21.3, 38.2, 4, ticks);

	assert_int_equal(count, 3);
	assert_string_equal(ticks[0].label, "25");
	assert_string_equal(ticks[2].label, "35");
	count = value_ticks(23.8, 25.1, 4, ticks);
	assert_int_equal(count, 3);
	assert_string_equal(ticks[0].label, "24.0");
	count = value_ticks(-1.5, 1.5, 3, ticks);
	assert_int_equal(count, 3);
	assert_string_equal(ticks[1].label, "0");
}

static void instants_as_brief_as_the_window_allows(void **state)
{
	(void)state;
	char text[TICK_TEXT];
	double at = MONDAY + 4 * 3600 + 600;

	assert_string_equal(brief_instant(at, (struct window){ MONDAY, MONDAY + 86400 }, text),
			    "04:10");
	assert_string_equal(brief_instant(at, (struct window){ MONDAY, MONDAY + 864000 }, text),
			    "5 Jan 04:10");
	assert_string_equal(brief_instant(at, (struct window){ MONDAY, MONDAY + 86400e2 * 3 }, text),
			    "5 Jan 2026");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_day_in_hours),
		cmocka_unit_test(days_of_23_and_25_hours),
		cmocka_unit_test(ticks_around_the_change),
		cmocka_unit_test(days_months_and_years),
		cmocka_unit_test(values_are_round),
		cmocka_unit_test(instants_as_brief_as_the_window_allows),
	};

	setenv("TZ", "Europe/Berlin", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
