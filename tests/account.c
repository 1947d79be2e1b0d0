/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What an enclosure asks of its keeper, each reason alone and just short of it.
 */
#include "tests/cm.h"

#include "tests/account_case.h"

static enum need need_of(struct account_case *c)
{
	return account_case_reckon(c)->need;
}

static struct rule *humidity_rule(struct account_case *c)
{
	return &c->tiny.enclosures[0].places[COOL_SIDE].rules[HUMIDITY];
}

static void in_its_bands_it_needs_nothing(void **state)
{
	struct account_case *c = *state;
	const struct account *account = account_case_reckon(c);

	assert_int_equal(account->need, NEED_NOTHING);
	assert_near(account->known, 1, 0);
	assert_near(account->weight, 0, 0);
	assert_false(account->unsafe);
	assert_null(account->shelved);
	assert_int_equal(account->standing_count, 0);
}

static void an_alert_that_stands(void **state)
{
	struct account_case *c = *state;

	c->lives[0] = (struct alert_life){ .last = { .enclosure = "T3" },
					   .raised = CASE_NOON + 3600 };
	c->alerts.lives.count = 1;
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_int_equal(c->account.standing_count, 1);
	/* Cleared within the window, or after it: it stood at its end. */
	c->lives[0].over = true;
	c->lives[0].end = c->base.until - 1;
	assert_int_equal(need_of(c), NEED_NOTHING);
	c->lives[0].end = c->base.until + 1;
	assert_int_equal(need_of(c), NEED_LOOK);
	c->lives[0].raised = c->base.until + 1;
	assert_int_equal(need_of(c), NEED_NOTHING);
	/* Somebody else's. */
	c->lives[0] = (struct alert_life){ .last = { .enclosure = "T4" },
					   .raised = CASE_NOON + 3600 };
	assert_int_equal(need_of(c), NEED_NOTHING);
}

/* It tells of what is still to come: all is well, and what is not is said before it. */
static void a_misting_that_is_due(void **state)
{
	struct account_case *c = *state;
	char *text;

	c->lives[0] = (struct alert_life){
		.last = { .enclosure = "T3", .has_condition = true, .condition = MISTING_DUE,
			  .has_priority = true, .priority = TODAY },
		.raised = CASE_NOON + 3600 };
	c->alerts.lives.count = 1;
	assert_int_equal(need_of(c), NEED_NOTHING);
	assert_int_equal(c->account.standing_count, 1);
	assert_null(account_complaint(&c->account, false, CELSIUS));
	c->lives[1] = (struct alert_life){
		.last = { .enclosure = "T3", .has_condition = true, .condition = FROZEN,
			  .has_priority = true, .priority = UPKEEP, .has_place = true,
			  .place = COOL_SIDE },
		.raised = CASE_NOON + 7200 };
	c->alerts.lives.count = 2;
	assert_int_equal(need_of(c), NEED_LOOK);
	text = account_complaint(&c->account, true, CELSIUS);
	assert_string_equal(text, "(cool side probe frozen)");
	free(text);
}

static void a_temperature_beyond_its_limits_for_a_minute(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 100, 101, 36);
	assert_int_equal(need_of(c), NEED_NOTHING); /* out for a minute, at the very limit */
	account_case_put(c, WARM_T, 100, 101, 36.1);
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_true(c->account.unsafe);
	assert_near(c->account.series[WARM_T].beyond[ABOVE], 60, 0);
	assert_near(c->account.series[WARM_T].beyond[BELOW], 0, 0);
	assert_true(series_unsafe(&c->account.series[WARM_T], ABOVE));
	assert_false(series_unsafe(&c->account.series[WARM_T], BELOW));
	account_case_put(c, WARM_T, 100, 101, 14.9);
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_true(series_unsafe(&c->account.series[WARM_T], BELOW));
}

/* A humidity beyond its limits has to last: a misting is no emergency. */
static void a_humidity_beyond_its_limits_for_its_patience(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_H, 100, 219, 90);
	assert_int_equal(need_of(c), NEED_STRAYED);
	assert_false(c->account.unsafe);
	assert_near(c->account.series[COOL_H].beyond[ABOVE], 7140, 0);
	account_case_put(c, COOL_H, 219, 220, 90);
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_true(c->account.unsafe);
}

/* A coarse row that only touches there counts for a minute. */
static void a_coarse_row_that_touches_its_limits(void **state)
{
	struct account_case *c = *state;

	account_case_rows(c, CASE_NOON, 24, 3600);
	c->record.series[WARM_T].list[3].max = 36.5;
	assert_int_equal(need_of(c), NEED_NOTHING); /* the band of then was wider than these limits */
	c->record.series[WARM_T].list[3].high = 60;
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_near(c->account.series[WARM_T].beyond[ABOVE], 60, 0);
	c->record.series[WARM_T].list[4].ok = 30;
	c->record.series[WARM_T].list[4].max = 36.5;
	c->record.series[WARM_T].list[4].high = 30;
	account_case_put(c, WARM_T, 5, 6, 37);
	account_case_reckon(c);
	assert_near(c->account.series[WARM_T].beyond[ABOVE], 60 + 30 + 3600, 0);
}

/* Danger that is a day old is no reason to look, but it is not forgotten. */
static void danger_of_the_day_before(void **state)
{
	struct account_case *c = *state;

	account_case_rows(c, CASE_NOON, 3 * 1440, 60);
	account_case_put(c, WARM_T, 2 * 1440 - 1, 2 * 1440, 37);
	assert_int_equal(need_of(c), NEED_STRAYED);
	assert_false(c->account.unsafe);
	assert_near(c->account.series[WARM_T].beyond[ABOVE], 60, 0);
	account_case_put(c, WARM_T, 2 * 1440, 2 * 1440 + 1, 37);
	assert_int_equal(need_of(c), NEED_LOOK);
	/* A day before now, when the window ends later. */
	c->base.window.to += 86400;
	assert_int_equal(need_of(c), NEED_LOOK);
	/* Nor where there are only limits. */
	account_case_put(c, WARM_T, 2 * 1440, 2 * 1440 + 1, 28);
	c->tiny.enclosures[0].places[WARM_SIDE].rules[TEMPERATURE].has_band = false;
	humidity_rule(c)->has_band = false;
	assert_int_equal(need_of(c), NEED_STRAYED);
	account_case_put(c, WARM_T, 2 * 1440 - 1, 2 * 1440, 28);
	assert_int_equal(need_of(c), NEED_UNTOLD);
}

/* Out at the end: half the patience of an hour, with a touch of the band in between. */
static void half_its_patience_is_used_up(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_H, 1411, 1440, 40);
	assert_int_equal(need_of(c), NEED_OUT);
	account_case_put(c, COOL_H, 1410, 1440, 40);
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_true(c->account.series[COOL_H].episode.lasts);
	assert_near(c->account.series[COOL_H].episode.seconds, 1800, 0);
	/* In the band, but not by its deadband of 3 %, and by it for less than 5 min. */
	account_case_put(c, COOL_H, 1420, 1430, 47);
	account_case_put(c, COOL_H, 1400, 1410, 40);
	assert_int_equal(need_of(c), NEED_LOOK);
	account_case_put(c, COOL_H, 1420, 1424, 49);
	assert_int_equal(need_of(c), NEED_LOOK);
	/* By it for 5 min: that was over, and what is left is short. */
	account_case_put(c, COOL_H, 1420, 1425, 49);
	assert_int_equal(need_of(c), NEED_OUT);
	assert_near(c->account.series[COOL_H].episode.seconds, 600, 0);
}

static void what_is_over_does_not_wear_out(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_H, 100, 1400, 40);
	assert_int_equal(need_of(c), NEED_STRAYED);
	assert_false(c->account.series[COOL_H].episode.lasts);
}

static void a_silent_series(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_T, 1431, 1440, NAN);
	assert_int_equal(need_of(c), NEED_NOTHING); /* 9 min */
	account_case_put(c, COOL_T, 1430, 1440, NAN);
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_true(c->account.series[COOL_T].silent);
	assert_false(c->account.series[COOL_H].silent);
	assert_near(c->account.series[COOL_T].silent_since, CASE_NOON + 1430 * 60, 0);
	assert_near(c->account.known, 1 - 600 / (3 * 86400.0), 1e-12);
	/* A probe asked every 5 min may be quiet for 15. */
	c->tiny.bus.every = 300;
	assert_int_equal(need_of(c), NEED_NOTHING);
	account_case_put(c, COOL_T, 1425, 1440, NAN);
	assert_int_equal(need_of(c), NEED_LOOK);
}

/* A window that ends after what is told cannot be known to its end. */
static void the_future_is_not_silent(void **state)
{
	struct account_case *c = *state;

	c->base.window.to += 86400;
	assert_int_equal(need_of(c), NEED_NOTHING);
	assert_near(c->account.known, 0.5, 1e-12);
	account_case_put(c, COOL_T, 1430, 1440, NAN);
	assert_int_equal(need_of(c), NEED_LOOK);
}

static void out_of_service_and_shelved(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 100, 200, 37);
	assert_int_equal(need_of(c), NEED_LOOK);
	c->tiny.enclosures[0].out_of_service = true;
	assert_int_equal(need_of(c), NEED_ASIDE);
	c->tiny.enclosures[0].out_of_service = false;
	c->shelved[0] = (struct alert_record){ .time = CASE_NOON + 3600, .enclosure = "T3",
					       .has_until = true, .until = c->base.until + 1 };
	c->alerts.shelved.count = 1;
	assert_int_equal(need_of(c), NEED_ASIDE);
	assert_ptr_equal(c->account.shelved, &c->shelved[0]);
	c->shelved[0].until = c->base.until + 86400; /* longer than there is any */
	assert_int_equal(need_of(c), NEED_LOOK);
	c->shelved[0].until = c->base.until; /* ended by itself */
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_null(c->account.shelved);
	c->shelved[0].until = c->base.until + 7200; /* only after the window */
	c->shelved[0].time = c->base.until + 3600;
	assert_int_equal(need_of(c), NEED_LOOK);
	c->shelved[0].time = CASE_NOON;
	c->shelved[0].enclosure[1] = '4';
	assert_int_equal(need_of(c), NEED_LOOK);
}

static void strayed_from_five_minutes_on(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 100, 104, 32);
	assert_int_equal(need_of(c), NEED_NOTHING);
	account_case_put(c, WARM_T, 300, 301, 26); /* and a minute below */
	assert_int_equal(need_of(c), NEED_STRAYED);
	assert_near(c->account.series[WARM_T].totals.low, 60, 0);
	assert_near(c->account.series[WARM_T].totals.high, 240, 0);
	assert_int_equal(c->account.series[WARM_T].excursions.count, 2);
}

static void without_a_band_nothing_can_be_said(void **state)
{
	struct account_case *c = *state;

	c->tiny.enclosures[0].places[WARM_SIDE].rules[TEMPERATURE] = (struct rule){ 0 };
	*humidity_rule(c) = (struct rule){ 0 };
	account_case_rows(c, CASE_NOON, 1440, 60);
	account_case_put(c, WARM_T, 0, 1440, 5);
	assert_int_equal(need_of(c), NEED_UNTOLD);
	assert_int_equal(c->account.series[WARM_T].excursions.count, 0);
	assert_near(c->account.weight, 0, 0);
	/* Limits are enough to be unsafe. */
	*humidity_rule(c) = (struct rule){ .has_limits = true, .limits = { 20, 50 },
					   .limits_patience = 3600 };
	assert_int_equal(need_of(c), NEED_LOOK);
}

static void without_any_reading(void **state)
{
	struct account_case *c = *state;

	for (size_t i = 0; i < CASE_SERIES; i++)
		account_case_put(c, i, 0, 1440, NAN);
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_near(c->account.known, 0, 0);
	assert_true(isnan(c->account.series[0].least.value));
	assert_near(c->account.series[0].silent_since, CASE_NOON, 0);
	/* No archive: no rows at all. */
	for (size_t i = 0; i < CASE_SERIES; i++)
		c->record.series[i].count = 0;
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_near(c->account.known, 0, 0);
	assert_near(c->account.series[0].totals.unknown, 86400, 0);
	/* Nor in a minute, however short that is. */
	c->base.window = (struct window){ CASE_NOON, CASE_NOON + 60 };
	c->base.until = CASE_NOON + 60;
	assert_int_equal(need_of(c), NEED_LOOK);
	assert_true(c->account.series[0].silent);
}

static void without_any_probe(void **state)
{
	struct account_case *c = *state;

	c->record.count = 0;
	assert_int_equal(need_of(c), NEED_UNTOLD);
	assert_near(c->account.known, 0, 0);
	c->record.count = CASE_SERIES; /* so that they are freed */
}

/* Distance x time in widths of the band, over all series. */
static void weight_and_known(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 0, 60, 33);    /* 2 °C out for 1 h, of 4 */
	account_case_put(c, COOL_H, 0, 120, 30);   /* 15 % out for 2 h, of 15 */
	account_case_put(c, COOL_T, 0, 720, NAN);
	account_case_reckon(c);
	assert_near(c->account.weight, 2.0 / 4 + 2 * 15.0 / 15, 1e-9);
	assert_near(c->account.known, (1 + 0.5 + 1) / 3, 1e-12);
	/* A band of no width counts as one of 1. */
	c->tiny.enclosures[0].places[WARM_SIDE].rules[TEMPERATURE].day =
		(struct range){ 31, 31 };
	account_case_reckon(c);
	assert_near(c->account.weight, 2.0 / 1 + 2 * 15.0 / 15, 1e-9);
}

static void extremes_stand_at_the_middle_of_their_rows(void **state)
{
	struct account_case *c = *state;
	const struct series_account *warm = &c->account.series[WARM_T];

	account_case_put(c, WARM_T, 100, 102, 29.5); /* the first of equals */
	account_case_put(c, WARM_T, 700, 701, 26);
	account_case_reckon(c);
	assert_near(warm->most.value, 29.5, 0);
	assert_near(warm->most.at, CASE_NOON + 100 * 60 + 30, 0);
	assert_near(warm->least.value, 26, 0);
	assert_near(warm->least.at, CASE_NOON + 700 * 60 + 30, 0);
	/* Of coarse rows the minute means. */
	account_case_rows(c, CASE_NOON, 24, 3600);
	c->record.series[WARM_T].list[5].max = 30.25;
	c->record.series[WARM_T].list[6].min = 27.5;
	account_case_reckon(c);
	assert_near(warm->most.value, 30.25, 0);
	assert_near(warm->most.at, CASE_NOON + 5.5 * 3600, 0);
	assert_near(warm->least.value, 27.5, 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_CASE(test) cmocka_unit_test_setup_teardown(test, account_case_begin, account_case_end)
		WITH_CASE(in_its_bands_it_needs_nothing),
		WITH_CASE(an_alert_that_stands),
		WITH_CASE(a_misting_that_is_due),
		WITH_CASE(a_temperature_beyond_its_limits_for_a_minute),
		WITH_CASE(a_humidity_beyond_its_limits_for_its_patience),
		WITH_CASE(a_coarse_row_that_touches_its_limits),
		WITH_CASE(danger_of_the_day_before),
		WITH_CASE(half_its_patience_is_used_up),
		WITH_CASE(what_is_over_does_not_wear_out),
		WITH_CASE(a_silent_series),
		WITH_CASE(the_future_is_not_silent),
		WITH_CASE(out_of_service_and_shelved),
		WITH_CASE(strayed_from_five_minutes_on),
		WITH_CASE(without_a_band_nothing_can_be_said),
		WITH_CASE(without_any_reading),
		WITH_CASE(without_any_probe),
		WITH_CASE(weight_and_known),
		WITH_CASE(extremes_stand_at_the_middle_of_their_rows),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
