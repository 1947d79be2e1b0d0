/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is foretold of air that keeps a law, against what the law makes of it.
 */
#include "tests/cm.h"

#include "conf/air.h"
#include "report/forecast.h"
#include "tests/made_air.h"

/* A band from `low` on, day and night, and a lower limit. */
static struct band_record band_from(double low, double limit)
{
	return (struct band_record){ .has_band = true, .day = { low, 100 }, .night = { low, 100 },
				     .has_limits = true, .limits = { limit, 100 },
				     .clock = { 8 * 3600, 20 * 3600, 5400 } };
}

/* Hours until air that goes on like that is below an edge; INFINITY: not within 144. */
static double truly_below(const struct made_air *air, double edge)
{
	struct course_state state = air->now;
	double now = MADE_BEGIN + air->days * 86400;

	for (int minute = 1; minute <= 144 * 60; minute++) {
		double at = now + minute * 60.0;
		struct course_around around = made_around(at - 30);

		state = course_step(&air->law, state, &around, 1.0 / 60);
		if (100 * state.vapour / made_around(at).saturated < edge)
			return minute / 60.0;
	}
	return INFINITY;
}

static void foretell(const struct made_air *air, bool room, struct band_record band,
		     struct forecast *out)
{
	struct ribbon ribbon = { &band, 1 };
	struct forecast_past past = { &air->inside, room ? &air->room : NULL, &air->mistings,
				      &ribbon, MADE_BEGIN + air->days * 86400 };

	forecast_make(&past, 144, out);
}

/* Two weeks of mistings, and then none: the crossing lies within what is foretold. */
static void the_crossing_lies_within(void **state)
{
	(void)state;
	struct made_air air = { .law = { 0.3, 0.4, 350 }, .days = 14, .misted = 1, .doors = true,
				.noise = 0.5 };
	struct forecast forecast;

	made_air_make(&air);
	foretell(&air, true, band_from(45, 38), &forecast);
	assert_true(forecast.known);
	assert_near(forecast.leaves.median, truly_below(&air, 45), 4);
	assert_true(forecast.leaves.low <= truly_below(&air, 45) + 0.5);
	assert_true(forecast.leaves.high >= truly_below(&air, 45) - 0.5);
	assert_near(forecast.passes.median, truly_below(&air, 38), 8);
	made_air_clear(&air);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_crossing_lies_within),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
