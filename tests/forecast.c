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
	const struct rule rule = { .patience = 12 * 3600, .deadband = 3, .off_delay = 300 };
	struct forecast_past past = { &air->inside, room ? &air->room : NULL, &air->mistings,
				      &ribbon, &rule, MADE_BEGIN + air->days * 86400 };

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

static const struct made_air MISTED = { .law = { 0.3, 0.4, 350 }, .days = 14, .misted = 1,
					.doors = true, .noise = 0.5 };

static struct forecast forecast_of(struct made_air air, bool room, double low)
{
	struct forecast forecast;

	made_air_make(&air);
	foretell(&air, room, band_from(low, 10), &forecast);
	made_air_clear(&air);
	return forecast;
}

/* One slow exponential, of which each stretch shows a third, or as much as it lasts. */
static void a_closed_box(void **state)
{
	(void)state;
	for (int every = 1; every <= 3; every += 2) {
		struct made_air air = { .law = { 1.0 / 60, 1e-4, 700 }, .days = 14, .misted = 1,
					.every = every, .noise = 0.5 };
		struct forecast forecast;
		double low;

		made_air_make(&air);
		low = 100 * air.now.vapour / made_around(MADE_BEGIN + 14 * 86400).saturated - 12;
		foretell(&air, true, band_from(low, 10), &forecast);
		assert_true(forecast.known);
		assert_true(forecast.leaves.low <= truly_below(&air, low) + 0.5);
		assert_true(forecast.leaves.high >= truly_below(&air, low) - 0.5);
		made_air_clear(&air);
	}
}

static void it_holds_or_is_below_already(void **state)
{
	(void)state;
	struct forecast forecast = forecast_of(MISTED, true, 20);

	assert_true(forecast.known);
	assert_true(isinf(forecast.leaves.low) && isinf(forecast.leaves.median));
	assert_near(forecast.longest.high, 0, 0);
	forecast = forecast_of(MISTED, true, 80);
	assert_near(forecast.leaves.high, 0, 0);
	assert_true(forecast.longest.low >= 144);
	assert_true(forecast.below_now && forecast.below_for > 40);
	assert_near(forecast.told.high, 0, 0);
}

static void the_longest_time_below(void **state)
{
	(void)state;
	struct forecast forecast = forecast_of(MISTED, true, 45);

	assert_true(forecast.longest.median > 2);
	assert_true(forecast.longest.high <= 144 - forecast.leaves.low + 0.2);
	/* Twelve hours of it are tolerated, from the crossing on at the earliest. */
	assert_true(forecast.told.low >= forecast.leaves.low + 11.5);
	assert_true(forecast.told.median < forecast.leaves.median + 48);
	assert_false(forecast.below_now);
}

static void the_same_past_gives_the_same(void **state)
{
	(void)state;
	struct forecast one = forecast_of(MISTED, true, 45), other = forecast_of(MISTED, true, 45);

	assert_memory_equal(&one.leaves, &other.leaves, sizeof one.leaves);
	assert_memory_equal(&one.longest, &other.longest, sizeof one.longest);
}

/* Of a room that is not known less can be told: nothing is surer than with it. */
static void without_a_room(void **state)
{
	(void)state;
	struct forecast with = forecast_of(MISTED, true, 40);
	struct forecast without = forecast_of(MISTED, false, 40);

	assert_true(with.room_known && without.known && !without.room_known);
	assert_true(without.leaves.low < with.leaves.high);
	assert_true(without.leaves.high - without.leaves.low >
		    2 * (with.leaves.high - with.leaves.low));
}

/* As long as somebody may have misted unseen, it was not followed. */
static void how_far_it_was_followed(void **state)
{
	(void)state;
	struct made_air air = MISTED;

	assert_near(forecast_of(air, false, 40).followed, 24, 0.5);
	air.every = 3;
	assert_near(forecast_of(air, false, 40).followed, 72, 0.5);
	air.every = 20; /* not once */
	air.gap_from = 5;
	air.gap_days = 2;
	assert_near(forecast_of(air, false, 40).followed, 7 * 24, 9);
}

/* A room's probe that is new, or back for an hour, says little of the room. */
static void a_room_that_is_hardly_known(void **state)
{
	(void)state;
	struct made_air air = MISTED;
	struct band_record band = band_from(40, 20);
	struct forecast forecast;

	made_air_make(&air);
	for (size_t i = 0; i + 6 * 40 < air.room.count; i++)
		air.room.list[i].ok = 0;
	foretell(&air, true, band, &forecast);
	assert_true(forecast.known && !forecast.room_known);
	made_air_clear(&air);
	made_air_make(&air);
	for (size_t i = 300; i + 6 < air.room.count; i++)
		air.room.list[i].ok = 0;
	foretell(&air, true, band, &forecast);
	assert_true(forecast.known && !forecast.room_known);
	made_air_clear(&air);
}

/* Three days are missing, not long ago. */
static void over_a_gap(void **state)
{
	(void)state;
	struct made_air air = MISTED;
	struct forecast whole = forecast_of(air, true, 45), gap;

	air.gap_from = 9;
	air.gap_days = 3;
	gap = forecast_of(air, true, 45);
	assert_true(gap.known);
	assert_near(gap.leaves.median, whole.leaves.median, 6);
}

/* Whether somebody has misted since is not known. */
static void of_a_silent_probe(void **state)
{
	(void)state;
	struct made_air air = MISTED;

	air.gap_from = 13.5;
	air.gap_days = 0.5;
	assert_false(forecast_of(air, true, 45).known);
}

static void without_a_band_or_a_past(void **state)
{
	(void)state;
	struct made_air air = MISTED;
	struct band_record none = { .clock = { 8 * 3600, 20 * 3600, 5400 } };
	struct forecast forecast;

	made_air_make(&air);
	foretell(&air, true, none, &forecast);
	assert_true(forecast.known);
	assert_true(isinf(forecast.leaves.low));
	made_air_clear(&air);
	air.days = 0.9;
	assert_false(forecast_of(air, true, 45).known);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_crossing_lies_within),
		cmocka_unit_test(a_closed_box),
		cmocka_unit_test(it_holds_or_is_below_already),
		cmocka_unit_test(the_longest_time_below),
		cmocka_unit_test(the_same_past_gives_the_same),
		cmocka_unit_test(without_a_room),
		cmocka_unit_test(how_far_it_was_followed),
		cmocka_unit_test(a_room_that_is_hardly_known),
		cmocka_unit_test(over_a_gap),
		cmocka_unit_test(of_a_silent_probe),
		cmocka_unit_test(without_a_band_or_a_past),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
