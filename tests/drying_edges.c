/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a drying passes the band's lower edge, and the lower limit: seen, foretold, never.
 */
#include "tests/cm.h"

#include "conf/air.h"
#include "tests/drying_case.h"

/* 25 °C: 9 g/m³ are 39 %, 16 g/m³ 69 %. */
static double hours_to(double humidity)
{
	double above = air_vapour_density(WARM, humidity) - 9;

	return 3 * log(7 / above);
}

static struct air banded(double hours, double day, double night, double limit)
{
	struct air air = falling(9, 7, 3, hours);

	air.band.has_band = air.band.has_limits = true;
	air.band.day = (struct range){ day, 90 };
	air.band.night = (struct range){ night, 90 };
	air.band.limits = (struct range){ limit, 95 };
	return air;
}

static void edges_that_were_passed(void **state)
{
	struct air air = banded(24, 55, 55, 45);
	struct drying drying = dry(&air);

	(void)state;
	assert_int_equal(drying.edge.reach, REACH_SEEN);
	assert_near(drying.edge.hours, hours_to(55), 0.2);
	assert_int_equal(drying.limit.reach, REACH_SEEN);
	assert_near(drying.limit.hours, hours_to(45), 0.3);
}

static void edges_that_would_have_been(void **state)
{
	struct air air = banded(5, 42, 42, 30);
	struct drying drying = dry(&air);

	(void)state;
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_int_equal(drying.edge.reach, REACH_FORETOLD);
	assert_near(drying.edge.hours, hours_to(42), 0.7);
	assert_int_equal(drying.limit.reach, REACH_NEVER);
}

static void no_edges(void **state)
{
	struct air air = usual();
	struct drying drying = dry(&air);

	(void)state;
	assert_int_equal(drying.edge.reach, REACH_UNTOLD);
	assert_int_equal(drying.limit.reach, REACH_UNTOLD);
}

/* The first hours of a drying that has such a number of steps far below from 40 minutes on. */
static double hours_with_dip(size_t steps)
{
	struct air air = banded(24, 50, 50, 30);
	struct drying drying;

	for (size_t k = 4; k < 4 + steps; k++)
		set_step(&air.inside.list[MISTED + k], air_vapour_density(WARM, 40), 0);
	drying = dry(&air);
	assert_int_equal(drying.edge.reach, REACH_SEEN);
	return drying.edge.hours;
}

/* One step is noise, an hour below an open door; two hours are not. */
static void an_open_door_does_not_decide(void **state)
{
	(void)state;
	assert_near(hours_with_dip(1), hours_to(50), 0.3);
	assert_near(hours_with_dip(3), hours_to(50), 0.3);
	assert_near(hours_with_dip(6), hours_to(50), 0.3);
	assert_near(hours_with_dip(12), 0.75, 0.2);
}

/* Of a drying that cannot be fitted what was seen stands. */
static void seen_without_a_fit(void **state)
{
	struct air air = banded(1.5, 60, 60, 30);
	struct drying drying = dry(&air);

	(void)state;
	assert_int_equal(drying.verdict, DRYING_SHORT);
	assert_int_equal(drying.edge.reach, REACH_SEEN);
	assert_near(drying.edge.hours, hours_to(60), 0.2);
	assert_int_equal(drying.limit.reach, REACH_UNTOLD);
}

/* Misted at 1:00, fitted until 6:00.  The night's edge is below the floor, the day's above:
 * it is passed when the day begins and its changeover is over, at 9:30. */
static void the_band_in_force_decides(void **state)
{
	struct air air = banded(5, 42, 30, 20);
	struct drying drying = dry(&air);

	(void)state;
	assert_int_equal(drying.edge.reach, REACH_FORETOLD);
	assert_near(drying.edge.hours, 8.5, 0.01);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(edges_that_were_passed),
		cmocka_unit_test(edges_that_would_have_been),
		cmocka_unit_test(no_edges),
		cmocka_unit_test(an_open_door_does_not_decide),
		cmocka_unit_test(seen_without_a_fit),
		cmocka_unit_test(the_band_in_force_decides),
	};

	setenv("TZ", "UTC", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
