/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a series is still out at the end of what is known, and since when.
 */
#include "tests/cm.h"

#include "tests/account_case.h"

static struct episode episode_of(struct account_case *c, size_t series)
{
	return account_case_reckon(c)->series[series].episode;
}

static void in_the_band_nothing_lasts(void **state)
{
	struct account_case *c = *state;

	assert_false(episode_of(c, WARM_T).lasts);
	account_case_put(c, WARM_T, 0, 700, 33);
	assert_false(episode_of(c, WARM_T).lasts);
	c->record.series[WARM_T].count = 0;
	assert_false(episode_of(c, WARM_T).lasts);
}

static void out_to_the_end(void **state)
{
	struct account_case *c = *state;
	struct episode e;

	account_case_put(c, COOL_H, 1400, 1439, 40);
	account_case_put(c, COOL_H, 1439, 1440, 42);
	e = episode_of(c, COOL_H);
	assert_true(e.lasts);
	assert_false(e.older);
	assert_int_equal(e.side, BELOW);
	assert_near(e.from, CASE_NOON + 1400 * 60, 0);
	assert_near(e.seconds, 40 * 60, 0);
	assert_near(e.distance, 3, 1e-9); /* on its last row */
}

/* 29 °C is the upper edge by night; noon comes after it, and 31 °C. */
static void above_by_day(void **state)
{
	struct account_case *c = *state;
	struct episode e;

	account_case_put(c, WARM_T, 1430, 1440, 31.5);
	e = episode_of(c, WARM_T);
	assert_true(e.lasts);
	assert_int_equal(e.side, ABOVE);
	assert_near(e.distance, 0.5, 1e-9);
}

static void back_by_less_than_the_deadband(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_H, 1000, 1100, 40);
	account_case_put(c, COOL_H, 1100, 1440, 47.9); /* inside by 2.9 of 3 % */
	assert_true(episode_of(c, COOL_H).lasts);
	assert_near(c->account.series[COOL_H].episode.seconds, 6000, 0);
	assert_near(c->account.series[COOL_H].episode.from, CASE_NOON + 60000, 0);
	account_case_put(c, COOL_H, 1100, 1440, 48);
	assert_false(episode_of(c, COOL_H).lasts);
}

static void back_for_less_than_the_off_delay(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_H, 1000, 1436, 40);
	assert_true(episode_of(c, COOL_H).lasts); /* 4 min */
	account_case_put(c, COOL_H, 1435, 1436, 55);
	assert_false(episode_of(c, COOL_H).lasts); /* 5 min */
	/* The minutes inside need not be next to one another, only unbroken by one outside. */
	account_case_put(c, COOL_H, 1435, 1436, 47);
	account_case_put(c, COOL_H, 1434, 1435, 55);
	assert_false(episode_of(c, COOL_H).lasts);
	account_case_put(c, COOL_H, 1435, 1436, 44);
	assert_true(episode_of(c, COOL_H).lasts);
	/* No delay at all: the first minute inside ends it. */
	c->tiny.enclosures[0].places[COOL_SIDE].rules[HUMIDITY].off_delay = 0;
	assert_false(episode_of(c, COOL_H).lasts);
	account_case_put(c, COOL_H, 1436, 1440, 44);
	assert_true(episode_of(c, COOL_H).lasts);
	assert_near(c->account.series[COOL_H].episode.from, CASE_NOON + 1435 * 60, 0);
}

static void unknown_time_neither_ends_nor_lengthens_it(void **state)
{
	struct account_case *c = *state;
	struct episode e;

	account_case_put(c, COOL_H, 1000, 1100, 40);
	account_case_put(c, COOL_H, 1100, 1440, NAN);
	e = episode_of(c, COOL_H);
	assert_true(e.lasts);
	assert_near(e.seconds, 6000, 0);
	account_case_put(c, COOL_H, 1200, 1210, 40);
	e = episode_of(c, COOL_H);
	assert_near(e.seconds, 6600, 0);
	assert_near(e.from, CASE_NOON + 60000, 0);
	/* Two and three minutes inside, on both sides of a hole. */
	account_case_put(c, COOL_H, 1098, 1100, 55);
	account_case_put(c, COOL_H, 1200, 1203, 55);
	e = episode_of(c, COOL_H);
	assert_near(e.seconds, 420, 0);
	assert_near(e.from, CASE_NOON + 1203 * 60, 0);
}

/* 26 °C is in the band of the night (23..29) and of the changeovers, and below that
 * of the day (27..31), which begins at 08:00 and counts from 09:30. */
static void the_band_changes_in_between(void **state)
{
	struct account_case *c = *state;
	struct episode e;

	account_case_put(c, WARM_T, 0, 1440, 26);
	e = episode_of(c, WARM_T);
	assert_true(e.lasts);
	assert_false(e.older);
	assert_near(e.from, CASE_NOON + (21 * 60 + 30) * 60, 0);
	assert_near(e.seconds, 2.5 * 3600, 0);
	/* By night 23.4 °C is in the band, but not by the deadband: it did not end. */
	account_case_put(c, WARM_T, 480, 1290, 23.4);
	e = episode_of(c, WARM_T);
	assert_true(e.lasts);
	assert_true(e.older);
	assert_near(e.from, CASE_NOON, 0);
	assert_near(e.seconds, (2.5 + 8) * 3600, 0);
}

static void the_side_it_is_on_last_or_longer(void **state)
{
	struct account_case *c = *state;
	struct episode e;

	/* Above for ten minutes: being too low was over after five. */
	account_case_put(c, COOL_H, 1300, 1430, 40);
	account_case_put(c, COOL_H, 1430, 1440, 65);
	e = episode_of(c, COOL_H);
	assert_int_equal(e.side, ABOVE);
	assert_near(e.seconds, 600, 0);
	assert_near(e.distance, 5, 1e-9);
	/* For three: it may be a touch. */
	account_case_put(c, COOL_H, 1430, 1437, 40);
	e = episode_of(c, COOL_H);
	assert_int_equal(e.side, BELOW);
	assert_near(e.seconds, 137 * 60, 0);
}

static void older_than_the_window(void **state)
{
	struct account_case *c = *state;
	struct episode e;

	account_case_put(c, COOL_H, 0, 1440, 40);
	e = episode_of(c, COOL_H);
	assert_true(e.older);
	assert_near(e.from, CASE_NOON, 0);
	/* Where the window begins with a hole, nobody knows either. */
	account_case_put(c, COOL_H, 0, 60, NAN);
	e = episode_of(c, COOL_H);
	assert_true(e.older);
	assert_near(e.from, CASE_NOON + 3600, 0);
	/* But not when it came to be out within the first row. */
	account_case_put(c, COOL_H, 0, 60, 40);
	c->record.series[COOL_H].list[0].low = 45;
	e = episode_of(c, COOL_H);
	assert_false(e.older);
	assert_near(e.from, CASE_NOON + 15, 0);
	assert_near(e.seconds, 86400 - 15, 0);
}

static void coarse_rows(void **state)
{
	struct account_case *c = *state;
	struct row *row;
	struct episode e;

	account_case_rows(c, CASE_NOON, 24 * 31, 3600);
	account_case_put(c, COOL_H, 740, 744, 40);
	row = &c->record.series[COOL_H].list[740];
	row->low = 1200;
	e = episode_of(c, COOL_H);
	assert_true(e.lasts);
	assert_near(e.from, CASE_NOON + 740 * 3600.0 + 2400, 0);
	assert_near(e.seconds, 3 * 3600 + 1200, 0);
	/* Half known: out for all of that. */
	row->ok = 1800;
	row->low = 1800;
	e = episode_of(c, COOL_H);
	assert_near(e.from, CASE_NOON + 740 * 3600.0, 0);
	/* An hour inside on its mean, and out for a while of it. */
	row = &c->record.series[COOL_H].list[743];
	*row = (struct row){ .from = row->from, .to = row->to, .ok = 3600, .low = 60, .out = 120,
			     .has_value = true, .value = 52, .min = 43, .max = 56 };
	e = episode_of(c, COOL_H);
	assert_true(e.lasts);
	assert_near(e.distance, 2, 1e-9);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_CASE(test) cmocka_unit_test_setup_teardown(test, account_case_begin, account_case_end)
		WITH_CASE(in_the_band_nothing_lasts),
		WITH_CASE(out_to_the_end),
		WITH_CASE(above_by_day),
		WITH_CASE(back_by_less_than_the_deadband),
		WITH_CASE(back_for_less_than_the_off_delay),
		WITH_CASE(unknown_time_neither_ends_nor_lengthens_it),
		WITH_CASE(the_band_changes_in_between),
		WITH_CASE(the_side_it_is_on_last_or_longer),
		WITH_CASE(older_than_the_window),
		WITH_CASE(coarse_rows),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
