/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Dryings written down by hand, and what they come to.
 */
#include "tests/cm.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/air.h"
#include "report/chance.h"
#include "report/drying_view.h"
#include "report/tendency.h"

enum { DAY = 86400, MOST = 400 };

static const double BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */

static struct drying fitted(double days, double time_constant)
{
	return (struct drying){
		.at = BEGIN + days * DAY, .before = 45, .top = 70, .from = BEGIN + days * DAY + 1800,
		.to = BEGIN + days * DAY + 43200, .verdict = DRYING_FITTED,
		.time_constant = time_constant, .time_constant_error = 0.1, .floor = 10, .drop = 4,
		.floor_error = 0.1, .freedom = 60, .floor_humidity = 46, .celsius = 24,
		.has_room = true, .room = 7, .has_air_changes = true, .air_changes = 0.5,
		.edge = { REACH_SEEN, 2 * time_constant }, .limit = { .reach = REACH_NEVER },
	};
}

/* ---- tendencies ------------------------------------------------------------------ */

/* Six values by hand: pairs 15; concordant 13, discordant 2: S = 11, Var = 6*5*17/18. */
static void slope_and_chance_by_hand(void **state)
{
	(void)state;
	static const double values[] = { 1, 3, 2, 4, 6, 5 };
	struct moment_value list[6];
	struct tendency tendency;

	for (int i = 0; i < 6; i++)
		list[i] = (struct moment_value){ BEGIN + i * DAY, values[i] };
	assert_true(tendency_of(list, 6, &tendency));
	assert_near(tendency.chance, erfc((11 - 1) / sqrt(6 * 5 * 17 / 18.0) / sqrt(2)), 1e-12);
	assert_near(tendency.slope * DAY, 1, 1e-9);
}

/* All 24 orders of four values: S is 6, 4, 2, 0, -2, -4, -6 in 1, 3, 5, 6, 5, 3, 1 of them
 * (counted; Kendall 1975 has the same table).  The score shows in the chance. */
static void all_orders_of_four(void **state)
{
	(void)state;
	static const int expected[] = { 6, 10, 6, 2 }; /* |S| 0, 2, 4, 6 */
	int found[4] = { 0 };

	for (int order = 0; order < 256; order++) {
		int digits[] = { order & 3, order >> 2 & 3, order >> 4 & 3, order >> 6 };
		struct moment_value list[4];
		struct tendency tendency;

		if ((1 << digits[0] | 1 << digits[1] | 1 << digits[2] | 1 << digits[3]) != 15)
			continue;
		for (int i = 0; i < 4; i++)
			list[i] = (struct moment_value){ BEGIN + i * DAY, digits[i] };
		assert_true(tendency_of(list, 4, &tendency));
		for (int half = 0; half < 4; half++) {
			double chance = erfc(fmax(2 * half - 1, 0) /
					     sqrt(4 * 3 * 13 / 18.0) / sqrt(2));

			found[half] += fabs(tendency.chance - chance) < 1e-9;
		}
	}
	for (int half = 0; half < 4; half++)
		assert_int_equal(found[half], expected[half]);
}

/* How often dryings that hang together by r, and have no trend, seem to have one. */
static double share_told(size_t count, double r)
{
	uint64_t chance = 1000 * count + (uint64_t)(100 * r);
	size_t told = 0, tries = 1000;

	for (size_t n = 0; n < tries; n++) {
		struct drying list[MOST];
		double value = chance_normal(&chance);

		for (size_t i = 0; i < count; i++) {
			list[i] = fitted((double)i * 28 / (double)(count - 1), 4 * exp(0.3 * value));
			value = r * value + sqrt(1 - r * r) * chance_normal(&chance);
		}
		told += drying_trend_of(list, count).told;
	}
	if (getenv("LONG"))
		printf("%zu dryings, r %.1f: told %.3f\n", count, r, (double)told / (double)tries);
	return (double)told / (double)tries;
}

/* 5 of 100, and three standard deviations of 1000 tries. */
static void no_trend_where_there_is_none(void **state)
{
	(void)state;
	static const size_t counts[] = { 10, 14, 28, 56 };

	for (size_t i = 0; i < 4; i++)
		for (double r = 0; r < 0.7; r += 0.3)
			assert_true(share_told(counts[i], r) < 0.05 + 0.02);
}

static void ties_and_outliers(void **state)
{
	(void)state;
	struct moment_value list[20];
	struct tendency tendency;

	for (int i = 0; i < 20; i++)
		list[i] = (struct moment_value){ BEGIN + i * DAY, 5 };
	assert_true(tendency_of(list, 20, &tendency));
	assert_true(tendency.slope == 0 && tendency.chance == 1);
	for (int i = 0; i < 20; i++)
		list[i].value = 0.5 * i + (i == 3 ? 1000 : 0);
	assert_true(tendency_of(list, 20, &tendency));
	assert_near(tendency.slope * DAY, 0.5, 0.02);
	assert_true(tendency.chance < 0.001);
	assert_false(tendency_of(list, 2, &tendency));
	for (int i = 0; i < 20; i++)
		list[i].at = BEGIN;
	assert_false(tendency_of(list, 20, &tendency));
}

static void many_values_are_thinned(void **state)
{
	(void)state;
	struct moment_value *list = calloc(100000, sizeof *list);
	struct tendency tendency;

	for (int i = 0; i < 100000; i++)
		list[i] = (struct moment_value){ BEGIN + i * 60.0, 2 * i + i % 7 };
	assert_true(tendency_of(list, 100000, &tendency));
	assert_near(tendency.slope * 60, 2, 0.001);
	free(list);
}

/* ---- summaries ------------------------------------------------------------------- */

/* Dryings of one a day, known all the while. */
static struct dryings dryings_of(struct drying *list, size_t count)
{
	return (struct dryings){ .place = COOL_SIDE, .known = (double)count * DAY, .list = list,
				 .count = count, .has_room = true, .room = 7 };
}

static void spreads_rates_and_reasons(void **state)
{
	(void)state;
	struct drying list[9];
	struct dryings dryings = dryings_of(list, 9);
	struct drying_summary s;

	for (int i = 0; i < 9; i++)
		list[i] = fitted(i, 1 + i);
	dryings.known = 3 * DAY;
	drying_summary_of(&dryings, &s);
	assert_true(s.mistings == 9 && s.fitted == 9 && s.a_day == 3);
	assert_true(s.time_constant.median == 5 && s.time_constant.low == 1 &&
		    s.time_constant.high == 9);
	assert_true(s.edge.spread.median == 10 && s.edge.dry == 5);
	assert_true(isinf(s.limit.spread.median) && isinf(s.limit.spread.low));
	assert_true(s.air_changes.median == 0.5);
	/* Of what is not fitted that counts that was seen. */
	list[0].verdict = DRYING_FLAT;
	list[1].verdict = DRYING_FLAT;
	list[2].verdict = DRYING_SHORT;
	list[1].edge = list[2].edge = (struct reached){ REACH_UNTOLD, 0 };
	drying_summary_of(&dryings, &s);
	assert_true(s.fitted == 6 && s.rejected[DRYING_FLAT] == 2 && s.rejected[DRYING_SHORT] == 1);
	assert_true(s.rejected[DRYING_FITTED] == 0 && s.time_constant.count == 6);
	assert_true(s.edge.spread.count == 7 && s.edge.spread.low == 2);
	assert_true(s.edge.watched == 9 && s.edge.seen == 7 && !s.is_unfinished);
	assert_true(s.air_changes.count == 6);
	dryings.known = 0;
	dryings.count = 0;
	drying_summary_of(&dryings, &s);
	assert_false(s.has_rate || s.has_floor || s.time_constant.count || s.trend.told);
}

/* The floor follows the room's air as far as the law says, or else what is known of its air
 * changes; each at its own temperature. */
static void floor_in_the_present_room(void **state)
{
	(void)state;
	struct drying list[] = { fitted(0, 3), fitted(1, 3), fitted(2, 3) };
	struct dryings dryings = dryings_of(list, 3);
	struct drying_summary s;

	for (int i = 0; i < 3; i++)
		list[i].floor_humidity = air_humidity_at(24, 10);
	drying_summary_of(&dryings, &s);
	assert_true(s.has_floor && s.floor_is_moved);
	assert_near(s.floor_humidity, s.floor_median, 1e-9);
	dryings.room = 9;
	for (int i = 0; i < 3; i++)
		list[i].air_changes = 0.5 / 3;
	drying_summary_of(&dryings, &s);
	assert_near(s.floor_humidity, air_humidity_at(24, 11), 1e-9);
	assert_near(s.floor_median, air_humidity_at(24, 10), 1e-9);
	assert_true(drying_floor_moves(&s));
	dryings.has_law = true;
	dryings.law = (struct course_law){ 1, 3, 100 };
	drying_summary_of(&dryings, &s);
	assert_near(s.floor_humidity, air_humidity_at(24, 10.5), 1e-9);
	/* By night as by day: what is the same humidity stays the same. */
	dryings.room = 7;
	for (int i = 0; i < 3; i++) {
		list[i].celsius = 20 + 3 * i;
		list[i].floor = air_vapour_density(20 + 3 * i, 53);
		list[i].floor_humidity = 53;
	}
	drying_summary_of(&dryings, &s);
	assert_near(s.floor_humidity, 53, 1e-6);
	assert_false(drying_floor_moves(&s));
	dryings.room = 1000;
	drying_summary_of(&dryings, &s);
	assert_true(s.floor_humidity == 100);
	dryings.has_room = false;
	drying_summary_of(&dryings, &s);
	assert_true(s.has_floor && !s.floor_is_moved && s.floor_humidity == 53);
}

/* Half a window of dry air; days without anybody; a drying that goes on. */
static void what_medians_hide(void **state)
{
	(void)state;
	struct drying list[12];
	struct dryings dryings = dryings_of(list, 12);
	struct drying_summary s;

	for (int i = 0; i < 12; i++) {
		list[i] = fitted(i, 3);
		if (i < 6)
			list[i].edge = (struct reached){ REACH_NEVER, 0 };
	}
	list[4].verdict = DRYING_WET;
	list[4].edge = (struct reached){ REACH_UNTOLD, 0 };
	drying_summary_of(&dryings, &s);
	assert_true(s.edge.watched == 11 && s.edge.seen == 6 && s.edge.third == 3);
	assert_true(s.edge.first_seen == 0 && s.edge.last_seen == 3);
	assert_true(s.long_count == 0);
	assert_near(s.longest, 12, 1e-9);
	list[11].verdict = DRYING_SLOW;
	list[11].to = list[11].at + 95 * 3600;
	list[11].edge.hours = 26;
	list[10].to = list[10].at + 21 * 3600;
	drying_summary_of(&dryings, &s);
	assert_near(s.longest, 95, 1e-9);
	assert_true(s.longest_at == 11 && s.long_count == 2 && s.long_held == 1);
	assert_true(s.edge.spread.count == 11);
	list[11].verdict = DRYING_SHORT;
	drying_summary_of(&dryings, &s);
	assert_true(s.is_unfinished);
}

static void few_dryings_are_no_eighty_of_a_hundred(void **state)
{
	(void)state;
	struct drying list[9];
	struct dryings dryings = dryings_of(list, 9);
	struct drying_summary s;
	static const char *const expected[] = { "one drying", "R in 2 dryings", "R in 8 dryings",
						"80 % of dryings: R" };
	static const size_t counts[] = { 1, 2, 8, 9 };

	for (int i = 0; i < 9; i++)
		list[i] = fitted(i, 3);
	for (int i = 0; i < 4; i++) {
		dryings.count = counts[i];
		drying_summary_of(&dryings, &s);
		char *text = drying_share_text(&s.time_constant, "R");

		assert_string_equal(text, expected[i]);
		free(text);
		assert_int_equal(s.edge.has_dry, counts[i] >= 4);
	}
}

/* ---- trends ---------------------------------------------------------------------- */

/* A drying every so many days, its time constant changed by so much over all of them, one by
 * one a little up and down. */
static struct drying_trend trend(size_t count, double days, double change)
{
	struct drying list[MOST];

	for (size_t i = 0; i < count; i++)
		list[i] = fitted((double)i * days / (double)(count - 1),
				 4 * exp(log(1 + change) * (double)i / (double)(count - 1)) *
					 (i % 2 ? 1.02 : 0.98));
	return drying_trend_of(list, count);
}

static void trends_are_told_when_they_are_sure(void **state)
{
	(void)state;
	struct drying_trend down = trend(28, 28, -0.22);

	assert_true(down.told);
	assert_near(down.change, -0.22, 0.02);
	assert_near(down.span, 28 * DAY, 1);
	assert_true(down.has_room_change);
	assert_near(down.room_change, 0, 1e-9);
	assert_true(trend(28, 28, 0.5).told);
	assert_false(trend(28, 28, 0).told);
	assert_false(trend(28, 28, -0.1).told);     /* little */
	assert_false(trend(28, 13, -0.3).told);     /* soon */
	assert_false(trend(9, 28, -0.3).told);      /* few */
	assert_true(trend(10, 14, -0.3).told);
	assert_true(trend(MOST, 365, -0.3).told);
}

static void a_trend_in_words(void **state)
{
	(void)state;
	struct enclosure enclosure = { .name = "T3", .label = "T3" };
	struct drying_entry entry = { .enclosure = &enclosure };
	char *text;

	entry.summary.fitted = 27;
	entry.summary.trend = (struct drying_trend){ .told = true, .span = 27.6 * DAY,
						       .change = -0.22, .has_room_change = true };
	text = drying_trend_text(&entry);
	assert_string_equal(text, "T3 dries 22 % quicker than four weeks ago (27 dryings): a lid left "
				  "ajar, or substrate drying out?");
	free(text);
	entry.summary.trend = (struct drying_trend){ .told = true, .span = 200 * DAY,
						       .change = 0.305, .has_room_change = true };
	text = drying_trend_text(&entry);
	assert_string_equal(text, "T3 dries 30 % slower than 29 weeks ago (27 dryings): a vent "
				  "covered, or wetter substrate?");
	free(text);
	entry.summary.trend.has_room_change = false;
	text = drying_trend_text(&entry);
	assert_string_equal(text, "T3 dries 30 % slower than 29 weeks ago (27 dryings): what the room's "
				  "air did meanwhile is not known.");
	free(text);
	entry.summary.trend.has_room_change = true;
	entry.summary.trend.room_change = -0.4;
	text = drying_trend_text(&entry);
	assert_string_equal(text, "T3 dries 30 % slower than 29 weeks ago (27 dryings): the room's air "
				  "became 40 % drier meanwhile, which may be why.");
	free(text);
}

static void hours_in_words(void **state)
{
	(void)state;
	char text[DRYING_WORDS];

	assert_string_equal(drying_hours(false, 3, text), "–");
	assert_string_equal(drying_hours(true, 3.25, text), "3.2 h");
	assert_string_equal(drying_hours(true, 9.96, text), "10 h");
	assert_string_equal(drying_hours(true, INFINITY, text), "never");
	assert_string_equal(drying_hours_range(true, 2.1, 14.4, text), "2.1..14 h");
	assert_string_equal(drying_hours_range(true, 6, INFINITY, text), "6.0 h..never");
	assert_string_equal(drying_hours_range(true, INFINITY, INFINITY, text), "never");
	assert_string_equal(drying_rate(true, 0.424, text), "0.42");
	assert_string_equal(drying_rate(true, 12.3, text), "12");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(slope_and_chance_by_hand),
		cmocka_unit_test(all_orders_of_four),
		cmocka_unit_test(no_trend_where_there_is_none),
		cmocka_unit_test(ties_and_outliers),
		cmocka_unit_test(many_values_are_thinned),
		cmocka_unit_test(spreads_rates_and_reasons),
		cmocka_unit_test(floor_in_the_present_room),
		cmocka_unit_test(what_medians_hide),
		cmocka_unit_test(few_dryings_are_no_eighty_of_a_hundred),
		cmocka_unit_test(trends_are_told_when_they_are_sure),
		cmocka_unit_test(a_trend_in_words),
		cmocka_unit_test(hours_in_words),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
