/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "conf/band.h"

static const struct range band = { 10, 20 };

static void inside_gives_nothing(void **state)
{
	(void)state;
	struct share s = band_share(band, 10, 20, 60);

	assert_near(s.below + s.above + s.out, 0, 0);
}

static void crossing_one_edge(void **state)
{
	(void)state;
	struct share s = band_share(band, 18, 22, 60);

	assert_near(s.above, 30, 1e-12);
	assert_near(s.below, 0, 0);
	assert_near(s.out, 30, 1e-12);
}

static void crossing_both_edges(void **state)
{
	(void)state;
	struct share s = band_share(band, 25, 5, 80);

	assert_near(s.above, 20, 1e-12);
	assert_near(s.below, 20, 1e-12);
	assert_near(s.out, 100, 1e-12);
}

static void wholly_outside(void **state)
{
	(void)state;
	struct share s = band_share(band, 6, 8, 10);

	assert_near(s.below, 10, 0);
	assert_near(s.out, 30, 1e-12);
}

/* reference: the triangle of EN 16798-2's degree-hours (method from memory,
 * figures computed): 31 -> 35 -> 31 over 4 h against 32 gives 3 h, 4.5 K h. */
static void triangle(void **state)
{
	(void)state;
	const struct range upper = { 0, 32 };
	struct share up = band_share(upper, 31, 35, 7200), down = band_share(upper, 35, 31, 7200);

	assert_near((up.above + down.above) / 3600, 3.0, 1e-12);
	assert_near((up.out + down.out) / 3600, 4.5, 1e-12);
}

static void changeover_is_the_hull(void **state)
{
	(void)state;
	const struct rule rule = { .has_band = true, .day = { 27, 31 }, .night = { 23, 29 } };

	assert_near(band_in(&rule, DAY).low, 27, 0);
	assert_near(band_in(&rule, NIGHT).high, 29, 0);
	assert_near(band_in(&rule, CHANGEOVER).low, 23, 0);
	assert_near(band_in(&rule, CHANGEOVER).high, 31, 0);
}

static void distance_has_a_sign(void **state)
{
	(void)state;
	assert_near(band_distance(band, 8), -2, 0);
	assert_near(band_distance(band, 10), 0, 0);
	assert_near(band_distance(band, 23.5), 3.5, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(inside_gives_nothing), cmocka_unit_test(crossing_one_edge),
		cmocka_unit_test(crossing_both_edges),	cmocka_unit_test(wholly_outside),
		cmocka_unit_test(triangle),		cmocka_unit_test(changeover_is_the_hull),
		cmocka_unit_test(distance_has_a_sign),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
