/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Day, night and both nights on which clocks change.  The zone is written
 * out as a POSIX TZ string (IEEE Std 1003.1, 8.3), so no zone file is read:
 * one hour forward on the last Sunday of March, back on that of October.
 */
#include "tests/cm.h"

#include <time.h>

#include "conf/daypart.h"

static const struct day day = { .from = 8 * 3600, .to = 20 * 3600, .changeover = 5400 };

static double local(int year, int month, int mday, int hour, int minute)
{
	struct tm tm = { .tm_year = year - 1900, .tm_mon = month - 1, .tm_mday = mday,
			 .tm_hour = hour, .tm_min = minute, .tm_isdst = -1 };

	return (double)mktime(&tm);
}

static void an_ordinary_day(void **state)
{
	(void)state;
	double morning = local(2026, 1, 5, 8, 0), evening = local(2026, 1, 5, 20, 0);
	struct daypart_span s = daypart_at(&day, morning - 1);

	assert_int_equal(s.part, NIGHT);
	assert_near(s.until, morning, 0);
	s = daypart_at(&day, morning);
	assert_int_equal(s.part, CHANGEOVER);
	assert_near(s.from, morning, 0);
	assert_near(s.until, morning + 5400, 0);
	s = daypart_at(&day, morning + 5400);
	assert_int_equal(s.part, DAY);
	assert_near(s.until, evening, 0);
	s = daypart_at(&day, evening + 5399.5);
	assert_int_equal(s.part, CHANGEOVER);
}

static void clocks_go_forward(void **state)
{
	(void)state;
	struct daypart_span night = daypart_at(&day, local(2026, 3, 29, 4, 0));

	assert_int_equal(night.part, NIGHT);
	assert_near(night.until - night.from, 11 * 3600 - 5400, 0);
}

static void clocks_go_back(void **state)
{
	(void)state;
	struct daypart_span night = daypart_at(&day, local(2026, 10, 25, 4, 0));

	assert_int_equal(night.part, NIGHT);
	assert_near(night.until - night.from, 13 * 3600 - 5400, 0);
}

/* Every instant of the two nights, at a step no switch falls on: spans must
 * join without hole or overlap, and each holds its own instant. */
static void spans_join(void **state)
{
	(void)state;
	const struct day odd = { .from = 2 * 3600 + 1800, .to = 1800, .changeover = 600 };
	const struct day *days[] = { &day, &odd };
	const double starts[] = { local(2026, 3, 28, 0, 0), local(2026, 10, 24, 0, 0) };

	for (int i = 0; i < 2; i++)
		for (int j = 0; j < 2; j++)
			for (double t = starts[j], end = t + 3 * 86400.0; t < end;) {
				struct daypart_span s = daypart_at(days[i], t);

				assert_true(s.from <= t && t < s.until);
				assert_int_equal(daypart_at(days[i], s.until - 0.5).part, s.part);
				t = s.until;
			}
}

static void night_across_midnight_and_day_across_midnight(void **state)
{
	(void)state;
	const struct day nocturnal = { .from = 22 * 3600, .to = 10 * 3600, .changeover = 0 };

	assert_int_equal(daypart_at(&nocturnal, local(2026, 1, 5, 23, 0)).part, DAY);
	assert_int_equal(daypart_at(&nocturnal, local(2026, 1, 5, 3, 0)).part, DAY);
	assert_int_equal(daypart_at(&nocturnal, local(2026, 1, 5, 12, 0)).part, NIGHT);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(an_ordinary_day), cmocka_unit_test(clocks_go_forward),
		cmocka_unit_test(clocks_go_back),  cmocka_unit_test(spans_join),
		cmocka_unit_test(night_across_midnight_and_day_across_midnight),
	};

	setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
