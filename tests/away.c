/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a forecast means for a keeper who is away.
 */
#include "tests/cm.h"

#include "report/away.h"

/* A forecast from its unfavourable ends, h; the others are far better. */
static struct away judged(double leaves, double told, double passes)
{
	const struct forecast forecast = {
		.known = true,
		.room_known = true,
		.leaves = { 20, leaves + 20, leaves, INFINITY },
		.told = { 20, INFINITY, told, INFINITY },
		.passes = { 20, INFINITY, passes, INFINITY },
		.longest = { 20, 40, 0, 72 },
		.below_for = 7,
	};

	return away_judge(&forecast, 72);
}

static void in_its_band_to_the_end_it_holds(void **state)
{
	(void)state;
	assert_int_equal(judged(INFINITY, INFINITY, INFINITY).verdict, AWAY_HOLDS);
}

static void within_patience_it_is_tolerable(void **state)
{
	(void)state;
	/* One time of ten is enough to leave it. */
	assert_int_equal(judged(71, INFINITY, INFINITY).verdict, AWAY_TOLERABLE);
	assert_int_equal(judged(0, INFINITY, INFINITY).verdict, AWAY_TOLERABLE);
}

/* A dip that ends by itself counts for nothing, and what is below already is in `told`. */
static void somebody_is_needed_when_patience_is_used_up(void **state)
{
	(void)state;
	assert_int_equal(judged(20, 52, INFINITY).verdict, AWAY_NEEDS);
	assert_near(judged(20, 52, INFINITY).by, 52, 1e-12);
	assert_near(judged(0, 4, INFINITY).by, 4, 1e-12);
	assert_near(judged(0, 0, INFINITY).by, 0, 1e-12);
}

static void the_earlier_of_limit_and_patience_counts(void **state)
{
	(void)state;
	assert_near(judged(20, 28, 24).by, 24, 1e-12);
	assert_near(judged(20, 28, 30).by, 28, 1e-12);
	assert_int_equal(judged(20, INFINITY, 21).verdict, AWAY_NEEDS);
	assert_near(judged(20, INFINITY, 21).by, 21, 1e-12);
	/* A limit inside the band: it is passed without leaving the band. */
	assert_near(judged(INFINITY, INFINITY, 21).by, 21, 1e-12);
}

static void without_a_forecast_nothing_is_said(void **state)
{
	(void)state;
	const struct forecast forecast = { .leaves = { 20, 5, 5, 5 } };

	assert_int_equal(away_judge(&forecast, 72).verdict, AWAY_UNKNOWN);
	assert_null(away_word(AWAY_UNKNOWN));
	assert_string_equal(away_word(AWAY_NEEDS), "needs somebody");
	assert_string_equal(away_word(AWAY_TOLERABLE), "tolerable");
	assert_string_equal(away_word(AWAY_HOLDS), "holds");
}

/* Without the room's air. */
static void beyond_what_was_seen_nothing_is_said(void **state)
{
	(void)state;
	struct forecast forecast = {
		.known = true,
		.followed = 24,
		.leaves = { 20, INFINITY, 10, INFINITY },
		.told = { 20, INFINITY, 22, INFINITY },
		.passes = { 20, INFINITY, INFINITY, INFINITY },
	};

	assert_int_equal(away_judge(&forecast, 72).verdict, AWAY_NEEDS);
	forecast.told.low = 25;
	assert_int_equal(away_judge(&forecast, 72).verdict, AWAY_UNKNOWN);
	forecast.told.low = INFINITY;
	assert_int_equal(away_judge(&forecast, 72).verdict, AWAY_UNKNOWN);
	assert_int_equal(away_judge(&forecast, 24).verdict, AWAY_TOLERABLE);
	forecast.room_known = true;
	assert_int_equal(away_judge(&forecast, 72).verdict, AWAY_TOLERABLE);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(in_its_band_to_the_end_it_holds),
		cmocka_unit_test(within_patience_it_is_tolerable),
		cmocka_unit_test(somebody_is_needed_when_patience_is_used_up),
		cmocka_unit_test(the_earlier_of_limit_and_patience_counts),
		cmocka_unit_test(beyond_what_was_seen_nothing_is_said),
		cmocka_unit_test(without_a_forecast_nothing_is_said),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
