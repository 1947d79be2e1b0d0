/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air changes: the published purge times, and decays made up with a known rate.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/air.h"
#include "report/airing.h"

/* Table S3-1, "Air changes per hour (ACH) and time in minutes required for removal
 * efficiencies of 90 %, 99 % and 99.9 % of airborne contaminants", in: Guidelines for
 * Preventing the Transmission of Mycobacterium tuberculosis in Health-Care Facilities,
 * MMWR 43 (RR-13), 28 October 1994.  Every cell as printed, in minutes. */
static const struct {
	double air_changes, minutes[3];
} purge[] = {
	{ 1, { 138, 276, 414 } }, { 2, { 69, 138, 207 } },  { 3, { 46, 92, 138 } },
	{ 4, { 35, 69, 104 } },	  { 5, { 28, 55, 83 } },    { 6, { 23, 46, 69 } },
	{ 8, { 17, 35, 52 } },	  { 10, { 14, 28, 41 } },   { 12, { 12, 23, 35 } },
	{ 15, { 9, 18, 28 } },	  { 20, { 7, 14, 21 } },    { 50, { 3, 6, 8 } },
};
static const double removed[3] = { 0.90, 0.99, 0.999 };

static void published_purge_times(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof purge / sizeof *purge; i++)
		for (int k = 0; k < 3; k++) {
			double hours = airing_hours(purge[i].air_changes, removed[k]);

			assert_near(round(60 * hours), purge[i].minutes[k], 0);
			assert_near(airing_rate(1, 1 - removed[k], hours), purge[i].air_changes,
				    1e-9);
			/* Back from the printed minutes, as far as half a minute allows. */
			assert_near(airing_rate(1, 1 - removed[k], purge[i].minutes[k] / 60) *
					    purge[i].minutes[k],
				    purge[i].air_changes * purge[i].minutes[k],
				    purge[i].air_changes * 0.5);
		}
}

/* 2000 falls to 800 in an hour over a background of 400: ln 4. */
static void two_points(void **state)
{
	(void)state;
	assert_near(airing_rate(2000 - 400, 800 - 400, 1), log(4), 1e-12);
	assert_near(airing_rate(2000 - 400, 800 - 400, 2), log(4) / 2, 1e-12);
}

/* ---- decays --------------------------------------------------------------- */

static const double BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */
static const double STEP = 600;

enum { STEPS = 72 };            /* 12 hours */

struct pair {
	struct bin inside[STEPS], room[STEPS];
};

/* About -1..1, the same each time. */
static double unrest(size_t i)
{
	unsigned number = (unsigned)(i + 1) * 2654435761u;

	number = (number ^ number >> 15) * 2246822519u;
	return 2 * ((double)(number ^ number >> 13) / 4294967296.0 - 0.5);
}

/* dw/dt = A (w_room - w) in parts of a minute, the room's vapour swinging within eight hours;
 * noise is the standard deviation of each step, g/m³. */
static struct pair decay(double air_changes, double excess, double swing, double noise)
{
	struct pair pair = { 0 };
	double inside = 8 + excess;

	for (size_t i = 0; i < STEPS; i++) {
		double sum = 0, room_sum = 0;

		for (int k = 0; k < 100; k++) {
			double hours = ((double)i + k / 100.0) / 6;
			double room = 8 + swing * sin(hours * 3.14159265 / 4);

			sum += inside / 100;
			room_sum += room / 100;
			inside += (1 - exp(-air_changes / 600)) * (room - inside);
		}
		pair.inside[i] = (struct bin){ .ok = STEP, .celsius = 24,
					       .vapour = sum + noise * sqrt(3) * unrest(i) };
		pair.room[i] = (struct bin){ .ok = STEP, .celsius = 21,
					     .vapour = room_sum +
						       noise * sqrt(3) * unrest(i + 500) };
	}
	return pair;
}

static bool air(struct pair *pair, double from, double to, double *air_changes)
{
	struct bins inside = { BEGIN, STEP, pair->inside, STEPS };
	struct bins room = { BEGIN, STEP, pair->room, STEPS };

	return airing_of(&inside, &room,
			 (struct window){ BEGIN + 3600 * from, BEGIN + 3600 * to }, air_changes);
}

static void made_up_decays(void **state)
{
	static const double of[] = { 0.1, 0.25, 0.5, 1, 2, 3 };
	double air_changes;

	(void)state;
	for (size_t i = 0; i < sizeof of / sizeof *of; i++) {
		struct pair still = decay(of[i], 10, 0, 0), noisy = decay(of[i], 10, 0, 0.1);

		assert_true(air(&still, 0, 12, &air_changes));
		assert_near(air_changes / of[i], 1, 0.002);
		assert_true(air(&noisy, 0, 12, &air_changes));
		printf("%.2f air changes per hour: %.3f of noisy probes\n", of[i], air_changes);
		assert_near(air_changes / of[i], 1, 0.03);
	}
}

/* Its vapour rises by 2 g/m³ within two hours, and falls by 4.  The excess is no exponential
 * then: the slope of its logarithm would be 0.28. */
static void a_room_that_moves(void **state)
{
	struct pair pair = decay(0.5, 10, 2, 0.05);
	double air_changes;

	(void)state;
	assert_true(air(&pair, 0, 12, &air_changes));
	printf("0.50 in a room that moves: %.3f\n", air_changes);
	assert_near(air_changes, 0.5, 0.02);
}

static void the_window_alone_counts(void **state)
{
	struct pair pair = decay(0.25, 10, 0, 0);
	double air_changes;

	(void)state;
	for (size_t i = 0; i < STEPS; i++)
		if (i < 6 || i >= 30)
			pair.inside[i].vapour = 30 + (double)i;
	assert_true(air(&pair, 1, 5, &air_changes));
	assert_near(air_changes, 0.25, 0.001);
}

static void what_is_unknown_is_passed_over(void **state)
{
	struct pair pair = decay(0.25, 10, 0, 0);
	double air_changes;

	(void)state;
	for (size_t i = 3; i < STEPS; i += 4) {
		pair.inside[i] = (struct bin){ 0 };
		pair.room[i + 1 < STEPS ? i + 1 : i] = (struct bin){ 0 };
	}
	assert_true(air(&pair, 0, 12, &air_changes));
	assert_near(air_changes, 0.25, 0.001);
	for (size_t i = 0; i < STEPS; i++)
		pair.room[i] = (struct bin){ 0 };
	assert_false(air(&pair, 0, 12, &air_changes));
}

static void too_little_for_an_answer(void **state)
{
	struct pair small = decay(0.5, 1, 0, 0), good = decay(0.5, 10, 0, 0);
	struct pair steady = decay(0.5, 10, 0, 0.1), rising = decay(0.5, 10, 0, 0);
	double air_changes;

	(void)state;
	assert_false(air(&small, 0, 12, &air_changes));
	assert_false(air(&good, 0, 0.5, &air_changes));   /* three steps */
	assert_false(air(&good, 8, 12, &air_changes));    /* all but gone */
	assert_false(air(&good, 14, 20, &air_changes));   /* nothing there */
	for (size_t i = 0; i < STEPS; i++) {
		steady.inside[i].vapour = 18 + 0.1 * unrest(i);
		rising.inside[i].vapour = 14 + 0.05 * (double)i;
	}
	assert_false(air(&steady, 0, 12, &air_changes));
	assert_false(air(&rising, 0, 12, &air_changes));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(published_purge_times),
		cmocka_unit_test(two_points),
		cmocka_unit_test(made_up_decays),
		cmocka_unit_test(a_room_that_moves),
		cmocka_unit_test(the_window_alone_counts),
		cmocka_unit_test(what_is_unknown_is_passed_over),
		cmocka_unit_test(too_little_for_an_answer),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
