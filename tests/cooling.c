/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How fast places cool, from hand-made temperatures.  Predictions against the simulated
 * room's power cuts are in run-away.sh.
 */
#include "tests/cm.h"

#include "report/cooling.h"

enum { STEPS = 10 * 144, EACH = 600, MOST = 2 };

static const double BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */

/* The room, and an enclosure of up to two places. */
struct case_air {
	struct bin room[STEPS], places[MOST][STEPS];
	struct bins room_bins, place_bins[MOST];
	struct cooling_air air;
};

static struct case_air *still_air(size_t places)
{
	struct case_air *c = calloc(1, sizeof *c);

	c->room_bins = (struct bins){ BEGIN, EACH, c->room, STEPS };
	for (size_t i = 0; i < places; i++)
		c->place_bins[i] = (struct bins){ BEGIN, EACH, c->places[i], STEPS };
	for (size_t n = 0; n < STEPS; n++) {
		c->room[n] = (struct bin){ .ok = EACH, .celsius = 19 };
		for (size_t i = 0; i < places; i++)
			c->places[i][n] = (struct bin){ .ok = EACH, .celsius = 30 };
	}
	c->air = (struct cooling_air){ c->place_bins, places, &c->room_bins };
	return c;
}

static bool is_night(size_t step)
{
	return step % 144 >= 120 || step % 144 < 48;
}

/* By night it cools with that time constant (h) towards `towards` above the room, by day it
 * is brought back to 30 °C.  Of each step the mean of 60 moments. */
static void cool(struct case_air *c, size_t place, double hours, double towards)
{
	double celsius = 30, dt = EACH / 3600.0 / 60;

	for (size_t n = 0; n < STEPS; n++) {
		double sum = 0;

		for (int moment = 0; moment < 60; moment++) {
			double aim = c->room[n].celsius + towards;

			celsius = is_night(n) ? celsius - dt / hours * (celsius - aim)
					      : fmin(30, celsius + 3 * dt);
			sum += celsius / 60;
		}
		c->places[place][n].celsius = sum;
	}
}

/* Even, with the standard deviation given. */
static double scatter(unsigned *seed, double deviation)
{
	return deviation * sqrt(3) * (2 * (double)rand_r(seed) / RAND_MAX - 1);
}

static void nights_give_the_time_constant(void **state)
{
	(void)state;
	const double hours[] = { 0.4, 0.8, 2.1, 5 };

	for (size_t i = 0; i < sizeof hours / sizeof *hours; i++) {
		struct case_air *c = still_air(1);
		struct cooling cooling;

		cool(c, 0, hours[i], 0);
		assert_true(cooling_find(&c->air, 0, &cooling));
		/* The record begins in a night; each of its ten evenings counts beside it. */
		assert_int_equal(cooling.count, 11);
		assert_near(cooling.median, hours[i], 0.03 * hours[i]);
		assert_near(cooling.quick, hours[i], 0.03 * hours[i]);
		free(c);
	}
}

/* A house without power cools, too: the law holds all the same. */
static void the_room_may_cool_meanwhile(void **state)
{
	(void)state;
	struct case_air *c = still_air(1);
	struct cooling cooling;

	for (size_t n = 0; n < STEPS; n++)
		c->room[n].celsius = is_night(n) ? 19 - 0.1 * (double)((n + 24) % 144) : 19;
	cool(c, 0, 2.1, 0);
	assert_true(cooling_find(&c->air, 0, &cooling));
	assert_near(cooling.median, 2.1, 0.06);
	free(c);
}

static void the_scatter_of_probes_is_borne(void **state)
{
	(void)state;
	struct case_air *c = still_air(1);
	struct cooling cooling;
	unsigned seed = 7;

	cool(c, 0, 2.1, 0);
	/* 0.2 °C of a reading are 0.06 °C of ten. */
	for (size_t n = 0; n < STEPS; n++) {
		c->places[0][n].celsius += scatter(&seed, 0.06);
		c->room[n].celsius += scatter(&seed, 0.06);
	}
	assert_true(cooling_find(&c->air, 0, &cooling));
	assert_in_range(cooling.count, 8, 12);
	/* The quickest part of each is quicker by chance, never slower. */
	assert_true(cooling.median > 0.85 * 2.1 && cooling.median < 1.02 * 2.1);
	assert_true(cooling.quick <= cooling.median);
	free(c);
}

static void a_thermostat_that_holds_it_is_not_told_from(void **state)
{
	(void)state;
	struct case_air *c = still_air(1);
	struct cooling cooling;

	assert_false(cooling_find(&c->air, 0, &cooling)); /* nothing falls */
	assert_int_equal(cooling.count, 0);
	cool(c, 0, 2.1, 7); /* set back by 4 of 11 °C */
	assert_false(cooling_find(&c->air, 0, &cooling));
	free(c);
}

/* The warm side is held, and the cool side follows the room: that is no heating off. */
static void a_place_that_stays_warm_speaks_against_it(void **state)
{
	(void)state;
	struct case_air *c = still_air(2);
	struct cooling cooling;

	cool(c, 0, 5, 0);
	assert_false(cooling_find(&c->air, 0, &cooling));
	cool(c, 1, 2, 0);
	assert_true(cooling_find(&c->air, 0, &cooling));
	assert_near(cooling.median, 5, 0.15);
	free(c);
}

/* For 40 minutes it loses most of its excess by day: somebody has its doors open. */
static void an_open_door_is_no_cooling(void **state)
{
	(void)state;
	struct case_air *c = still_air(1);
	struct cooling cooling;

	for (size_t n = 60; n < STEPS; n += 144)
		for (size_t i = 0; i < 5; i++)
			c->places[0][n + i].celsius = 19 + 11 * exp(-(double)i * EACH / 3600 / 0.4);
	assert_false(cooling_find(&c->air, 0, &cooling));
	free(c);
}

static void what_is_unknown_is_not_bridged(void **state)
{
	(void)state;
	struct case_air *c = still_air(1);
	struct cooling cooling;

	cool(c, 0, 2.1, 0);
	for (size_t n = 0; n < STEPS; n += 5)
		c->room[n].ok = 0;
	assert_false(cooling_find(&c->air, 0, &cooling));
	for (size_t n = 0; n < STEPS; n++)
		c->room[n].ok = EACH;
	for (size_t n = 0; n < STEPS; n += 5)
		c->places[0][n].ok = 0;
	assert_false(cooling_find(&c->air, 0, &cooling));
	free(c);
}

static void the_law_itself(void **state)
{
	(void)state;
	/* One time constant leaves 1/e of the excess. */
	assert_near(cooling_hours(2, 30, 20, 20 + 10 / exp(1)), 2, 1e-12);
	assert_near(cooling_hours(2, 30, 20, 25), 2 * log(2), 1e-12);
	assert_near(cooling_hours(2, 15, 10, 15), 0, 0);
	assert_near(cooling_hours(2, 14, 20, 15), 0, 0);
	assert_true(isinf(cooling_hours(2, 30, 20, 15)));
	assert_true(isinf(cooling_hours(2, 30, 15, 15)));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nights_give_the_time_constant),
		cmocka_unit_test(the_room_may_cool_meanwhile),
		cmocka_unit_test(the_scatter_of_probes_is_borne),
		cmocka_unit_test(a_thermostat_that_holds_it_is_not_told_from),
		cmocka_unit_test(a_place_that_stays_warm_speaks_against_it),
		cmocka_unit_test(an_open_door_is_no_cooling),
		cmocka_unit_test(what_is_unknown_is_not_bridged),
		cmocka_unit_test(the_law_itself),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
