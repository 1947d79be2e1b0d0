/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "daemon/clock.h"

static const double wall = 1767614400;

static void small_corrections_are_followed(void **state)
{
	(void)state;
	struct clock clock = { 0 };

	clock_read(&clock, wall, 100);
	struct clock_now now = clock_read(&clock, wall + 12, 110);

	assert_near(now.time, wall + 12, 0);
	assert_near(now.shift, 0, 0);
	/* Back by a little: time stands still rather than going back. */
	now = clock_read(&clock, wall + 11, 111);
	assert_near(now.time, wall + 12, 0);
	now = clock_read(&clock, wall + 14, 114);
	assert_near(now.time, wall + 14, 0);
}

static void a_leap_ahead_is_not_believed_at_once(void **state)
{
	(void)state;
	struct clock clock = { 0 };

	clock_read(&clock, wall, 100);
	struct clock_now now = clock_read(&clock, wall + 86400, 110);

	assert_near(now.time, wall + 10, 1e-6);
	now = clock_read(&clock, wall + 86400 + 599, 709);
	assert_near(now.time, wall + 609, 1e-6);
	assert_near(now.shift, 0, 0);
	now = clock_read(&clock, wall + 86400 + 600, 710);
	assert_near(now.time, wall + 86400 + 600, 1e-6);
	assert_near(now.shift, 86390, 1e-6);
	now = clock_read(&clock, wall + 86400 + 601, 711);
	assert_near(now.shift, 0, 0);
}

static void a_leap_that_goes_away_never_was(void **state)
{
	(void)state;
	struct clock clock = { 0 };

	clock_read(&clock, wall, 100);
	clock_read(&clock, wall + 86400, 110);
	struct clock_now now = clock_read(&clock, wall + 20, 120);

	assert_near(now.time, wall + 20, 1e-6);
	/* Another leap begins its own time of proof. */
	now = clock_read(&clock, wall + 86400, 800);
	assert_near(now.time, wall + 700, 1e-6);
	assert_near(now.shift, 0, 0);
}

/* Time goes on while a step back is doubted, and the watch with it. */
static void a_step_back_does_not_stop_time(void **state)
{
	(void)state;
	struct clock clock = { 0 };

	clock_read(&clock, wall, 100);
	struct clock_now now = clock_read(&clock, wall - 3600, 110);

	assert_near(now.time, wall + 10, 1e-6);
	now = clock_read(&clock, wall - 3600 + 300, 410);
	assert_near(now.time, wall + 310, 1e-6);
	now = clock_read(&clock, wall - 3600 + 600, 710);
	assert_near(now.shift, -3610, 1e-6);
	assert_near(now.time, wall - 3000, 1e-6);
	assert_near(clock.latest, wall + 310, 1e-6);
	now = clock_read(&clock, wall - 3600 + 610, 720);
	assert_near(now.time, wall - 2990, 1e-6);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(small_corrections_are_followed),
		cmocka_unit_test(a_leap_ahead_is_not_believed_at_once),
		cmocka_unit_test(a_leap_that_goes_away_never_was),
		cmocka_unit_test(a_step_back_does_not_stop_time),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
