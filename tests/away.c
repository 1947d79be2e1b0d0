/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a forecast means for a keeper who is away.
 */
#include "tests/cm.h"

#include "report/away.h"

static const struct spread NEVER = { 20, INFINITY, INFINITY, INFINITY };
static const double HOUR = 3600;

/* A forecast from its unfavourable ends, h; the others are far better. */
static struct forecast foretold(double leaves, double longest, double passes)
{
	return (struct forecast){
		.known = true,
		.leaves = { 20, leaves + 20, leaves, INFINITY },
		.longest = { 20, 0, 0, longest },
		.passes = { 20, INFINITY, passes, INFINITY },
	};
}

static struct away judged(struct forecast forecast, double patience, double used)
{
	return away_judge(&forecast, &(struct away_case){ 72, patience * HOUR, used * HOUR });
}

static void in_its_band_to_the_end_it_holds(void **state)
{
	(void)state;
	struct forecast forecast = { .known = true, .leaves = NEVER, .passes = NEVER,
				     .longest = { 20, 0, 0, 0 } };

	assert_int_equal(judged(forecast, 8, 0).verdict, AWAY_HOLDS);
	/* One time of ten is enough to leave it. */
	forecast.leaves.low = 71;
	forecast.longest.high = 1;
	assert_int_equal(judged(forecast, 8, 0).verdict, AWAY_TOLERABLE);
}

static void within_patience_it_is_tolerable(void **state)
{
	(void)state;
	assert_int_equal(judged(foretold(20, 8, INFINITY), 8, 0).verdict, AWAY_TOLERABLE);
	assert_int_equal(judged(foretold(20, 8.1, INFINITY), 8, 0).verdict, AWAY_NEEDS);
	assert_int_equal(judged(foretold(20, 52, INFINITY), 72, 0).verdict, AWAY_TOLERABLE);
}

static void somebody_is_needed_before_patience_ends(void **state)
{
	(void)state;
	struct away away = judged(foretold(20, 52, INFINITY), 8, 0);

	assert_int_equal(away.verdict, AWAY_NEEDS);
	assert_near(away.by, 28, 1e-12);
}

static void a_limit_comes_before_patience(void **state)
{
	(void)state;
	struct away away = judged(foretold(20, 52, 24), 8, 0);

	assert_int_equal(away.verdict, AWAY_NEEDS);
	assert_near(away.by, 24, 1e-12);
	assert_near(judged(foretold(20, 52, 30), 8, 0).by, 28, 1e-12);
	/* And counts where no patience is used up. */
	assert_near(judged(foretold(20, 2, 21), 8, 0).by, 21, 1e-12);
	/* A limit inside the band: it is passed without leaving the band. */
	assert_near(judged(foretold(INFINITY, 0, 21), 8, 0).by, 21, 1e-12);
}

/* The time it has been below already is time the animal has borne. */
static void what_is_used_up_is_not_given_again(void **state)
{
	(void)state;
	assert_int_equal(judged(foretold(0, 5, INFINITY), 8, 0).verdict, AWAY_TOLERABLE);
	assert_int_equal(judged(foretold(0, 5, INFINITY), 8, 4).verdict, AWAY_NEEDS);
	assert_near(judged(foretold(0, 5, INFINITY), 8, 4).by, 4, 1e-12);
	assert_near(judged(foretold(0, 72, INFINITY), 8, 30).by, 0, 1e-12);
}

static void nobody_is_asked_for_after_the_end(void **state)
{
	(void)state;
	/* The earliest and the longest are of different times: their sum may be later. */
	assert_near(judged(foretold(68, 9, INFINITY), 8, 0).by, 72, 1e-12);
}

static void without_a_forecast_nothing_is_said(void **state)
{
	(void)state;
	struct forecast forecast = { .leaves = NEVER, .passes = NEVER };

	assert_int_equal(judged(forecast, 8, 0).verdict, AWAY_UNKNOWN);
	assert_null(away_word(AWAY_UNKNOWN));
	assert_string_equal(away_word(AWAY_NEEDS), "needs somebody");
	assert_string_equal(away_word(AWAY_TOLERABLE), "tolerable");
	assert_string_equal(away_word(AWAY_HOLDS), "holds");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(in_its_band_to_the_end_it_holds),
		cmocka_unit_test(within_patience_it_is_tolerable),
		cmocka_unit_test(somebody_is_needed_before_patience_ends),
		cmocka_unit_test(a_limit_comes_before_patience),
		cmocka_unit_test(what_is_used_up_is_not_given_again),
		cmocka_unit_test(nobody_is_asked_for_after_the_end),
		cmocka_unit_test(without_a_forecast_nothing_is_said),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
