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

	assert_true(now.usable);
	assert_near(now.time, wall + 12, 0);
}

static void a_leap_ahead_is_not_believed_at_once(void **state)
{
	(void)state;
	struct clock clock = { 0 };

	clock_read(&clock, wall, 100);
	struct clock_now now = clock_read(&clock, wall + 86400, 110);

	assert_true(now.usable);
	assert_near(now.time, wall + 10, 1e-6);
	now = clock_read(&clock, wall + 86400 + 599, 709);
	assert_near(now.time, wall + 609, 1e-6);
	now = clock_read(&clock, wall + 86400 + 600, 710);
	assert_near(now.time, wall + 86400 + 600, 1e-6);
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
	clock_read(&clock, wall + 86400, 800);
	now = clock_read(&clock, wall + 86400, 800);
	assert_near(now.time, wall + 700, 1e-6);
}

static void a_step_back_waits_until_it_has_caught_up(void **state)
{
	(void)state;
	struct clock clock = { 0 };

	clock_read(&clock, wall, 100);
	struct clock_now now = clock_read(&clock, wall - 3600, 110);

	assert_false(now.usable);
	assert_near(now.time, wall, 0);
	assert_true(clock.behind);
	now = clock_read(&clock, wall - 1, 110 + 3599);
	assert_false(now.usable);
	now = clock_read(&clock, wall, 110 + 3600);
	assert_true(now.usable);
	assert_false(clock.behind);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(small_corrections_are_followed),
		cmocka_unit_test(a_leap_ahead_is_not_believed_at_once),
		cmocka_unit_test(a_leap_that_goes_away_never_was),
		cmocka_unit_test(a_step_back_waits_until_it_has_caught_up),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
