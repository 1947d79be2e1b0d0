/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An account in words.
 */
#include "tests/cm.h"

#include "tests/account_case.h"

/* What is said of it; each is freed at once. */
static void says(char *text, const char *expected)
{
	if (!expected)
		assert_null(text);
	else
		assert_string_equal(text, expected);
	free(text);
}

static void complains(struct account_case *c, const char *full, const char *brief)
{
	const struct account *account = account_case_reckon(c);

	says(account_complaint(account, false, CELSIUS), full);
	says(account_complaint(account, true, CELSIUS), brief);
}

static void finds(struct account_case *c, const char *expected)
{
	says(account_finding(account_case_reckon(c), NULL, CELSIUS), expected);
}

static void nothing_to_complain_of(void **state)
{
	struct account_case *c = *state;

	complains(c, NULL, NULL);
	finds(c, "In its bands all the time");
	says(series_finding(&c->account, &c->account.series[WARM_T], CELSIUS),
	     "In its band all the time");
	says(series_finding(&c->account, &c->account.series[COOL_T], CELSIUS),
	     "No band is set here");
	account_case_put(c, WARM_T, 10, 14, 33);
	finds(c, "In its bands but for less than 5 min");
	account_case_put(c, WARM_T, 10, 40, NAN);
	finds(c, "In its bands as far as is known, unknown for 30 min");
	account_case_put(c, WARM_T, 10, 15, NAN);
	account_case_put(c, WARM_T, 15, 40, 28);
	finds(c, "In its bands all the time"); /* 5 min are not worth a word */
}

static void what_is_over(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 100, 165, 33);
	complains(c, "too hot for 1 h 5 min", "too hot for 1 h 5 min");
	finds(c, "Warm side temperature above its band for 1 h 5 min, highest 33.0 °C");
	account_case_put(c, COOL_H, 100, 220, 44);
	account_case_put(c, WARM_T, 300, 310, 20);
	finds(c, "Warm side temperature above its band for 1 h 5 min, highest 33.0 °C; cool side "
		 "humidity below its band for 2 h, lowest 44 %; and 1 more");
	says(series_finding(&c->account, &c->account.series[COOL_H], CELSIUS),
	     "Below its band for 2 h, lowest 44 %");
	says(account_finding(&c->account, (const bool[PLACES]){ [COOL_SIDE] = true }, CELSIUS),
	     "Cool side humidity below its band for 2 h, lowest 44 %");
	says(series_finding(&c->account, &c->account.series[WARM_T], FAHRENHEIT),
	     "Above its band for 1 h 5 min, highest 91.4 °F; below its band for 10 min, lowest "
	     "68.0 °F");
}

static void what_lasts_comes_before_what_is_over(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 100, 400, 33);
	account_case_put(c, COOL_H, 1400, 1440, 42);
	complains(c, "3 % too dry since 11:20", "3 % too dry since 11:20");
}

static void since_when_it_lasts(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_H, 1400, 1440, 42);
	complains(c, "3 % too dry since 11:20", "3 % too dry since 11:20");
	/* By less than can be shown. */
	account_case_put(c, COOL_H, 1400, 1440, 44.8);
	complains(c, "too dry since 11:20", "too dry since 11:20");
	/* From before the window on nobody knows since when. */
	account_case_put(c, COOL_H, 0, 1440, 42);
	complains(c, "too dry for 1 d", "too dry for 1 d");
}

static void the_place_where_more_than_one_has_a_band(void **state)
{
	struct account_case *c = *state;

	c->tiny.enclosures[0].places[COOL_SIDE].rules[TEMPERATURE] =
		c->tiny.enclosures[0].places[WARM_SIDE].rules[TEMPERATURE];
	account_case_put(c, COOL_T, 0, 1440, 28);
	account_case_put(c, COOL_T, 1390, 1440, 26.2);
	complains(c, "cool side 0.8 °C too cold since 11:10", "0.8 °C too cold since 11:10");
	says(account_complaint(&c->account, false, FAHRENHEIT),
	     "cool side 1.4 °F too cold since 11:10");
	account_case_put(c, WARM_T, 203, 204, 14.5);
	complains(c, "warm side was dangerously cold, 14.5 °C at 15:23", "was dangerously cold at 15:23");
	says(account_complaint(&c->account, false, FAHRENHEIT),
	     "warm side was dangerously cold, 58.1 °F at 15:23");
}

static void each_danger(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 203, 204, 36.5);
	complains(c, "was dangerously hot, 36.5 °C at 15:23", "was dangerously hot at 15:23");
	finds(c, "Warm side temperature above its band for 1 min, highest 36.5 °C, beyond its limits");
	account_case_put(c, WARM_T, 203, 204, 28);
	account_case_put(c, COOL_H, 203, 323, 6);
	complains(c, "was dangerously dry, 6 % at 15:23", "was dangerously dry at 15:23");
	account_case_put(c, COOL_H, 203, 323, 95);
	complains(c, "was dangerously damp, 95 % at 15:23", "was dangerously damp at 15:23");
	account_case_put(c, COOL_H, 203, 204, 55); /* a minute short of its patience */
	complains(c, "too damp for 1 h 59 min", "too damp for 1 h 59 min");
}

static void limits_without_a_band(void **state)
{
	struct account_case *c = *state;
	struct rule *rule = &c->tiny.enclosures[0].places[COOL_SIDE].rules[TEMPERATURE];

	*rule = (struct rule){ .has_limits = true, .limits = { 16, 32 } };
	finds(c, "In its bands all the time");
	account_case_put(c, COOL_T, 203, 233, 12.5);
	complains(c, "was dangerously cold, 12.5 °C at 15:23", "was dangerously cold at 15:23");
	finds(c, "Cool side temperature below its limits for 30 min, lowest 12.5 °C");
}

static void silence(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_T, 1200, 1440, NAN);
	complains(c, "cool side silent since 08:00", "cool side silent since 08:00");
	/* Of two the one that has been silent longer. */
	account_case_put(c, WARM_T, 1300, 1440, NAN);
	complains(c, "cool side silent since 08:00", "cool side silent since 08:00");
	account_case_put(c, WARM_T, 0, 1440, NAN);
	complains(c, "warm side silent in all this time", "warm side silent in all this time");
	/* All: since the last reading of any. */
	account_case_put(c, COOL_H, 1320, 1440, NAN);
	complains(c, "no reading since 10:00", "silent since 10:00");
	for (size_t i = 0; i < CASE_SERIES; i++)
		account_case_put(c, i, 0, 1440, NAN);
	complains(c, "no reading in all this time", "silent in all this time");
	finds(c, "Nothing is known of this time");
	c->record.trouble = (char[]){ "T3.rrd is damaged" };
	complains(c, "its record cannot be read", "with a record that cannot be read");
	c->account.record.trouble = c->record.trouble = NULL; /* not malloc'ed */
}

/* It is told of the probe that is silent, not of what was computed from it. */
static void a_computed_humidity(void **state)
{
	struct account_case *c = *state;

	c->record.series[COOL_H].series.computed = true;
	account_case_put(c, COOL_H, 0, 120, 42);
	complains(c, "cool side (computed) too dry for 2 h", "too dry for 2 h");
	finds(c, "Cool side humidity (computed) below its band for 2 h, lowest 42 %");
	account_case_put(c, COOL_H, 0, 1440, NAN);
	assert_int_equal(account_case_reckon(c)->need, NEED_NOTHING);
	account_case_put(c, WARM_T, 1200, 1440, NAN);
	complains(c, "warm side silent since 08:00", "warm side silent since 08:00");
	account_case_put(c, COOL_T, 1260, 1440, NAN);
	account_case_put(c, COOL_H, 0, 1290, 55);
	complains(c, "no reading since 09:00", "silent since 09:00");
	account_case_put(c, COOL_H, 203, 323, 6);
	complains(c, "cool side (computed) was dangerously dry, 6 % at 15:23, unknown since 09:30",
		  "was dangerously dry at 15:23, unknown since 09:30");
}

static void what_lasts_when_the_other_is_silent(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, COOL_T, 1200, 1440, NAN);
	account_case_put(c, COOL_H, 1400, 1440, 42);
	complains(c, "3 % too dry since 11:20", "3 % too dry since 11:20");
}

static void an_alert_of_something_else(void **state)
{
	struct account_case *c = *state;

	c->lives[0] = (struct alert_life){
		.last = { .enclosure = "T3", .has_place = true, .place = WARM_SIDE,
			  .has_condition = true, .condition = FROZEN },
		.raised = CASE_NOON + 20 * 3600 };
	c->alerts.lives.count = 1;
	complains(c, "warm side probe frozen, told 08:00", "(warm side probe frozen)");
}

/* ---- what must not be hidden ------------------------------------------------------ */

static void a_trifle_does_not_hide_silence(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 120, 1440, NAN);
	account_case_put(c, COOL_H, 1433, 1440, 44.9);
	complains(c, "warm side silent since 14:00", "warm side silent since 14:00");
}

/* A danger of hours ago is past, though it is a little too hot again. */
static void danger_is_present_only_while_it_lasts(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 203, 204, 36.5);
	account_case_put(c, WARM_T, 1430, 1440, 29.5);
	complains(c, "was dangerously hot, 36.5 °C at 15:23", "was dangerously hot at 15:23");
	account_case_put(c, WARM_T, 1439, 1440, 36.6);
	complains(c, "dangerously hot, 36.6 °C at 11:59", "dangerously hot");
	account_case_put(c, WARM_T, 204, 1440, NAN); /* nobody saw its end */
	complains(c, "was dangerously hot, 36.5 °C at 15:23, silent since 15:24",
		  "was dangerously hot at 15:23, silent since 15:24");
}

/* A place with limits only has no band to be out of since. */
static void danger_without_a_band(void **state)
{
	struct account_case *c = *state;
	struct rule *rule = &c->tiny.enclosures[0].places[COOL_SIDE].rules[HUMIDITY];

	rule->has_band = false;
	rule->limits_patience = 600;
	account_case_put(c, COOL_H, 1410, 1440, 20);
	account_case_put(c, WARM_T, 100, 165, 33);
	complains(c, "dangerously dry, 20 % at 11:30", "dangerously dry");
}

static void many_short_ones_add_up(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 100, 103, 33);
	account_case_put(c, COOL_H, 300, 303, 40);
	finds(c, "Out of its bands now and then, for 6 min in all");
	account_case_put(c, WARM_T, 103, 1440, NAN);
	finds(c, "Out of its bands now and then, for 6 min in all; unknown for 22 h 17 min");
}

static void the_gravest_alert_is_told(void **state)
{
	struct account_case *c = *state;

	c->lives[0] = (struct alert_life){
		.last = { .enclosure = "T3", .has_place = true, .place = COOL_SIDE,
			  .has_condition = true, .condition = FROZEN, .priority = UPKEEP },
		.raised = CASE_NOON };
	c->lives[1] = (struct alert_life){
		.last = { .enclosure = "T3", .has_place = true, .place = COOL_SIDE,
			  .has_quantity = true, .quantity = TEMPERATURE, .has_condition = true,
			  .condition = RUNAWAY, .has_priority = true, .priority = NOW },
		.raised = CASE_NOON + 20 * 3600 };
	c->alerts.lives.count = 2;
	account_case_put(c, WARM_T, 1430, 1440, 22.9);
	complains(c, "cool side temperature heading for its limit, told 08:00",
		  "(cool side temperature heading for its limit)");
}

/* It was hot and told, then it grew cold. */
static void an_alert_of_the_other_side_says_nothing_of_since(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 840, 1400, 33);
	account_case_put(c, WARM_T, 1400, 1440, 20);
	c->lives[0] = (struct alert_life){
		.last = { .enclosure = "T3", .has_place = true, .place = WARM_SIDE,
			  .has_quantity = true, .quantity = TEMPERATURE, .has_condition = true,
			  .condition = ABOVE_BAND, .has_since = true, .since = CASE_NOON + 840 * 60 },
		.raised = CASE_NOON + 900 * 60 };
	c->alerts.lives.count = 1;
	complains(c, "7.0 °C too cold since 11:20", "7.0 °C too cold since 11:20");
	c->lives[0].last.condition = BELOW_BAND; /* its own does, and better than the rows */
	c->lives[0].last.since = CASE_NOON + 1390 * 60;
	complains(c, "7.0 °C too cold since 11:10", "7.0 °C too cold since 11:10");
}

/* By night 24 °C is in the band, by day 27 °C is not. */
static void the_lowest_is_of_the_time_outside(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 700, 1000, 24);
	account_case_put(c, WARM_T, 100, 130, 26.5);
	finds(c, "Warm side temperature below its band for 30 min, lowest 26.5 °C");
}

static void more_than_five_minutes_in_pieces(void **state)
{
	struct account_case *c = *state;

	account_case_put(c, WARM_T, 100, 104, 32);
	account_case_put(c, WARM_T, 300, 301, 26);
	complains(c, "out of its band now and then", "out of its band now and then");
}

/* ---- against the days before ---------------------------------------------------- */

static void changes(struct account_case *c, size_t series, struct earlier earlier,
		    const char *expected)
{
	account_case_reckon(c);
	c->account.series[series].earlier = earlier;
	says(series_change(&c->account.series[series], c->base.window, CELSIUS), expected);
}

static void what_changed(void **state)
{
	struct account_case *c = *state;
	const char *no = NULL;

	changes(c, WARM_T, (struct earlier){ 0 }, no);
	changes(c, WARM_T, (struct earlier){ .windows = 7, .mean = 28.4 }, no);
	changes(c, WARM_T, (struct earlier){ .windows = 7, .mean = 28.6 },
		"0.6 °C cooler than in the same hours of the 7 days before");
	changes(c, WARM_T, (struct earlier){ .windows = 3, .mean = 27.2 },
		"0.8 °C warmer than in the same hours of 3 of the 7 days before");
	changes(c, COOL_H, (struct earlier){ .windows = 7, .mean = 50 },
		"5 % damper than in the same hours of the 7 days before");
	changes(c, COOL_H, (struct earlier){ .windows = 7, .mean = 59 },
		"4 % drier than in the same hours of the 7 days before");
	account_case_put(c, COOL_H, 0, 200, 43);
	changes(c, COOL_H, (struct earlier){ .windows = 7, .mean = 54, .has_band = true,
					     .low = 4200, .high = 5400 },
		"2 h 10 min more below its band, 1 h 30 min less above its band than in the same "
		"hours of the 7 days before");
	changes(c, COOL_H, (struct earlier){ .windows = 7, .mean = 54, .has_band = true,
					     .low = 12000 - 1799, .high = 1799 }, no);
	says(series_change(&c->account.series[WARM_T], c->base.window, FAHRENHEIT), no);
	c->account.series[WARM_T].earlier = (struct earlier){ .windows = 7, .mean = 27 };
	says(series_change(&c->account.series[WARM_T], c->base.window, FAHRENHEIT),
	     "1.8 °F warmer than in the same hours of the 7 days before");
}

static void what_changed_over_more_than_a_day(void **state)
{
	struct account_case *c = *state;

	account_case_rows(c, CASE_NOON, 26, 3600);
	changes(c, WARM_T, (struct earlier){ .windows = 1, .mean = 27 },
		"1.0 °C warmer than in the 2 days before");
	/* A day on which the clocks go back is one. */
	account_case_rows(c, CASE_NOON, 25, 3600);
	changes(c, WARM_T, (struct earlier){ .windows = 7, .mean = 27 },
		"1.0 °C warmer than in the same hours of the 7 days before");
	/* Nothing known now: nothing to compare. */
	account_case_put(c, WARM_T, 0, 25, NAN);
	changes(c, WARM_T, (struct earlier){ .windows = 7, .mean = 27 }, NULL);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_CASE(test) cmocka_unit_test_setup_teardown(test, account_case_begin, account_case_end)
		WITH_CASE(nothing_to_complain_of),
		WITH_CASE(what_is_over),
		WITH_CASE(what_lasts_comes_before_what_is_over),
		WITH_CASE(since_when_it_lasts),
		WITH_CASE(the_place_where_more_than_one_has_a_band),
		WITH_CASE(each_danger),
		WITH_CASE(limits_without_a_band),
		WITH_CASE(silence),
		WITH_CASE(a_computed_humidity),
		WITH_CASE(what_lasts_when_the_other_is_silent),
		WITH_CASE(an_alert_of_something_else),
		WITH_CASE(more_than_five_minutes_in_pieces),
		WITH_CASE(a_trifle_does_not_hide_silence),
		WITH_CASE(the_gravest_alert_is_told),
		WITH_CASE(danger_is_present_only_while_it_lasts),
		WITH_CASE(danger_without_a_band),
		WITH_CASE(many_short_ones_add_up),
		WITH_CASE(an_alert_of_the_other_side_says_nothing_of_since),
		WITH_CASE(the_lowest_is_of_the_time_outside),
		WITH_CASE(what_changed),
		WITH_CASE(what_changed_over_more_than_a_day),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
