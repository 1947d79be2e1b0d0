/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How much was known lately, against values worked out by hand: a share that
 * decays with a time constant of 1800 s while nothing is known and closes in on
 * 1 with the same while something is.
 */
#include "tests/cm.h"

#include "daemon/coverage.h"

enum { LONGEST = 180, SILENT = 600 };

static const double begin = 1767614400;

static void a_steady_probe_is_good(void **state)
{
	(void)state;
	struct coverage c;

	coverage_begin(&c, begin);
	for (double t = begin; t <= begin + 7200; t += 60)
		coverage_take(&c, LONGEST, SILENT, t);
	assert_near(c.share, 1, 0);
	assert_near(c.good, begin + 7200, 0);
	assert_true(coverage_is_good(&c) && coverage_is_steady(&c) && !coverage_is_patchy(&c));
}

/* A gap of 300 s: exp(-300/1800); then 300 s known. */
static void a_gap_and_what_follows(void **state)
{
	(void)state;
	struct coverage c;

	coverage_begin(&c, begin);
	coverage_take(&c, LONGEST, SILENT, begin + 300);
	assert_near(c.share, 0.846481724890614, 1e-15);
	assert_false(coverage_is_good(&c));
	assert_near(c.good, begin, 0);
	for (int i = 1; i <= 5; i++)
		coverage_take(&c, LONGEST, SILENT, begin + 300 + i * 60);
	/* 1 - (1 - 0.84648...) x exp(-300/1800), however it is cut. */
	assert_near(c.share, 0.870049585683175, 1e-12);
	assert_near(c.good, begin + 600, 0);
}

static void the_longest_line_is_known_and_a_hair_more_is_not(void **state)
{
	(void)state;
	struct coverage c;

	coverage_begin(&c, begin);
	c.share = 0.5;
	coverage_take(&c, LONGEST, SILENT, begin + 180);
	assert_near(c.share, 0.5 + 0.5 * 0.0951625819640404, 1e-15);
	coverage_begin(&c, begin);
	c.share = 0.5;
	coverage_take(&c, LONGEST, SILENT, begin + 181);
	assert_near(c.share, 0.5 * exp(-181 / 1800.0), 1e-15);
}

/* A silence, which is told by itself, leaves neither good nor bad; 5 min later
 * it is steady: 1 - 0.5 exp(-300/1800) = 0.5768. */
static void after_a_silence(void **state)
{
	(void)state;
	struct coverage c;

	coverage_begin(&c, begin);
	coverage_take(&c, LONGEST, SILENT, begin + 599);
	assert_near(c.share, exp(-599 / 1800.0), 1e-15);
	coverage_begin(&c, begin);
	coverage_take(&c, LONGEST, SILENT, begin + 600);
	assert_near(c.share, 0.5, 0);
	assert_false(coverage_is_patchy(&c) || coverage_is_steady(&c) || coverage_is_good(&c));
	for (int i = 1; i <= 4; i++)
		coverage_take(&c, LONGEST, SILENT, begin + 600 + i * 60);
	assert_false(coverage_is_steady(&c));
	coverage_take(&c, LONGEST, SILENT, begin + 900);
	assert_near(c.share, 0.576759137554693, 1e-12);
	assert_true(coverage_is_steady(&c));
	/* It never mends what is worse than that. */
	c.share = 0.2;
	coverage_doubt(&c);
	assert_near(c.share, 0.2, 0);
}

/* One answer in 4 min is patchy after 24 min: exp(-1440/1800) = 0.4493. */
static void now_and_then_is_patchy(void **state)
{
	(void)state;
	struct coverage c;

	coverage_begin(&c, begin);
	for (int i = 1; i <= 5; i++)
		coverage_take(&c, LONGEST, SILENT, begin + i * 240);
	assert_false(coverage_is_patchy(&c));
	coverage_take(&c, LONGEST, SILENT, begin + 6 * 240);
	assert_near(c.share, 0.449328964117222, 1e-12);
	assert_true(coverage_is_patchy(&c));
	assert_near(c.good, begin + 240, 0); /* then it was exp(-240/1800) = 0.875 */
}

static void a_moved_clock_changes_nothing(void **state)
{
	(void)state;
	struct coverage c;

	coverage_begin(&c, begin);
	coverage_shift(&c, -begin);
	assert_near(c.good, 0, 0);
	coverage_take(&c, LONGEST, SILENT, 60);
	assert_near(c.share, 1, 0);
	assert_near(c.last, 60, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_steady_probe_is_good),
		cmocka_unit_test(a_gap_and_what_follows),
		cmocka_unit_test(the_longest_line_is_known_and_a_hair_more_is_not),
		cmocka_unit_test(after_a_silence),
		cmocka_unit_test(now_and_then_is_patchy),
		cmocka_unit_test(a_moved_clock_changes_nothing),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
