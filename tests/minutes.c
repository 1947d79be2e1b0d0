/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Readings to minutes, against values worked out by hand.
 */
#include "tests/cm.h"

#include <time.h>

#include "daemon/minutes.h"
#include "tests/small_conf.h"

enum { WARM_T, COOL_T, COOL_H, SERIES, MOST = 4096 };

/* 2026-01-05 00:00 UTC; the zone is UTC throughout. */
static const double midnight = 1767571200;

static struct closed_minute got[MOST];
static size_t got_count;

static void sink(void *context, const struct closed_minute *minute)
{
	(void)context;
	assert_true(got_count < MOST);
	if (got_count)
		assert_true(minute->end > got[got_count - 1].end);
	got[got_count++] = *minute;
}

static struct conf *conf;
static struct minutes *m;

static int set_up(void **state)
{
	(void)state;
	conf = small_conf(NULL, 1, 10);
	m = minutes_new(conf, &conf->enclosures[0]);
	got_count = 0;
	return 0;
}

static int tear_down(void **state)
{
	(void)state;
	minutes_free(m);
	small_conf_free(conf);
	return 0;
}

static void take(size_t series, double time, double value)
{
	assert_true(minutes_take(m, series, time, value));
}

/* Only the warm side has a probe. */
static void one_series_only(void)
{
	conf->enclosures[0].places[COOL_SIDE].watched = false;
	minutes_free(m);
	m = minutes_new(conf, &conf->enclosures[0]);
}

static void a_whole_minute(void **state)
{
	(void)state;
	one_series_only();
	for (int i = 0; i <= 6; i++)
		take(0, midnight + 10 * i, 24 + i);
	minutes_close(m, midnight + 60, sink, NULL);
	assert_int_equal(got_count, 1);
	assert_int_equal(got[0].end, (int64_t)midnight + 60);
	assert_int_equal(got[0].count, 1);
	assert_near(got[0].cells[0].ok, 1, 0);
	assert_near(got[0].cells[0].value, 27, 1e-12);
	/* 24 -> 30 in 60 s crosses the night's upper edge, 29, at 50 s. */
	assert_near(got[0].cells[0].high, 10.0 / 60, 1e-12);
	assert_near(got[0].cells[0].low, 0, 0);
	assert_near(got[0].cells[0].out, 0.5 * 10 / 60, 1e-12);
}

static void a_line_is_split_at_the_minute(void **state)
{
	(void)state;
	one_series_only();
	take(0, midnight + 45, 25);
	take(0, midnight + 75, 28);
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 2);
	assert_near(got[0].cells[0].ok, 0.25, 0);
	assert_near(got[0].cells[0].value, 25.75, 1e-12);
	assert_near(got[1].cells[0].ok, 0.25, 0);
	assert_near(got[1].cells[0].value, 27.25, 1e-12);
}

static void the_band_changes_within_a_line(void **state)
{
	(void)state;
	double at = midnight + 8 * 3600;

	conf->day = (struct day){ 8 * 3600 + 25, 20 * 3600, 20 };
	one_series_only();
	take(0, at + 10, 30);
	take(0, at + 40, 30);
	take(0, at + 60, 26);
	minutes_close(m, at + 60, sink, NULL);
	assert_int_equal(got_count, 1);
	/* Night (23..29) to 25 s: 15 s too high by 1.  Changeover (23..31) to
	 * 45 s.  Day (27..31): the line from 30 at 40 s falls 0.2 a second and
	 * passes 27 at 55 s: 5 s too low, by 0.5 in the mean. */
	assert_near(got[0].cells[0].ok, 50.0 / 60, 1e-12);
	assert_near(got[0].cells[0].high, 15.0 / 60, 1e-12);
	assert_near(got[0].cells[0].low, 5.0 / 60, 1e-12);
	assert_near(got[0].cells[0].out, (15 * 1 + 5 * 0.5) / 60, 1e-12);
	assert_near(got[0].cells[0].value, (30 * 30 + 20 * 28) / 50.0, 1e-12);
}

static void three_times_every_is_known_and_more_is_not(void **state)
{
	(void)state;
	one_series_only();
	take(0, midnight + 0.1, 25);
	take(0, midnight + 30.1, 25);
	take(0, midnight + 60.11, 25);
	take(0, midnight + 70.11, 25);
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 2);
	assert_near(got[0].cells[0].ok, 0.5, 0);
	assert_near(got[1].cells[0].ok, 10.0 / 60, 0);
}

/* 3 x 10.1 s falls between the steps of a double of today's size. */
static void three_times_an_odd_every_is_known(void **state)
{
	(void)state;
	conf->buses[0].every = 10.1;
	one_series_only();
	take(0, midnight, 25);
	take(0, midnight + 30.3, 25);
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 1);
	assert_near(got[0].cells[0].ok, 30.3 / 60, 1e-8);
}

static void a_minute_waits_for_each_series(void **state)
{
	(void)state;
	take(WARM_T, midnight + 20, 25);
	take(COOL_T, midnight + 25, 25);
	take(COOL_H, midnight + 25, 50);
	take(WARM_T, midnight + 40, 25);
	take(COOL_T, midnight + 45, 25);
	take(COOL_H, midnight + 45, 50);
	take(WARM_T, midnight + 60, 25);
	minutes_close(m, midnight + 60, sink, NULL);
	assert_int_equal(got_count, 0);
	take(COOL_T, midnight + 65, 25);
	minutes_close(m, midnight + 65, sink, NULL);
	assert_int_equal(got_count, 0);
	take(COOL_H, midnight + 65, 50);
	minutes_close(m, midnight + 65, sink, NULL);
	assert_int_equal(got_count, 1);
	assert_near(got[0].cells[WARM_T].ok, 40.0 / 60, 0);
	assert_near(got[0].cells[COOL_H].ok, 35.0 / 60, 0);
}

static void a_silent_series_is_waited_for_three_times_every(void **state)
{
	(void)state;
	take(COOL_T, midnight + 35, 25);
	take(COOL_H, midnight + 35, 50);
	for (int i = 3; i <= 6; i++) {
		take(WARM_T, midnight + 10 * i, 25);
		minutes_close(m, midnight + 10 * i, sink, NULL);
	}
	minutes_close(m, midnight + 65, sink, NULL);
	assert_int_equal(got_count, 0);
	minutes_close(m, midnight + 65.01, sink, NULL);
	assert_int_equal(got_count, 1);
	assert_near(got[0].cells[COOL_T].ok, 0, 0);
	assert_near(got[0].cells[WARM_T].ok, 0.5, 0);
}

static void a_series_that_never_was_counts_from_the_first_reading(void **state)
{
	(void)state;
	take(WARM_T, midnight + 40, 25);
	take(WARM_T, midnight + 60, 25);
	take(WARM_T, midnight + 70, 25);
	minutes_close(m, midnight + 70, sink, NULL);
	assert_int_equal(got_count, 0);
	minutes_close(m, midnight + 70.01, sink, NULL);
	assert_int_equal(got_count, 1);
}

/* The minute under way stays open however silent its series are. */
static void no_minute_is_closed_before_its_end(void **state)
{
	(void)state;
	one_series_only();
	take(0, midnight + 1, 25);
	take(0, midnight + 2, 25);
	minutes_close(m, midnight + 50, sink, NULL);
	assert_int_equal(got_count, 0);
	take(0, midnight + 55, 25);
	take(0, midnight + 60, 25);
	minutes_close(m, midnight + 60, sink, NULL);
	assert_int_equal(got_count, 1);
	assert_near(got[0].cells[0].ok, 6.0 / 60, 0);
}

static void finish_hands_out_the_partial_minute(void **state)
{
	(void)state;
	one_series_only();
	take(0, midnight + 50, 25);
	take(0, midnight + 70, 25);
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 2);
	assert_near(got[1].cells[0].ok, 10.0 / 60, 0);
	take(0, midnight + 72, 25);
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 2);
}

static void nothing_known_is_no_minute(void **state)
{
	(void)state;
	one_series_only();
	take(0, midnight + 30, 25);
	take(0, midnight + 60, 25);
	take(0, midnight + 3600, 25);
	take(0, midnight + 3610, 25);
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 2);
	assert_int_equal(got[1].end, (int64_t)midnight + 3660);
}

static void old_equal_and_impossible_readings_are_refused(void **state)
{
	(void)state;
	take(WARM_T, midnight + 10, 25);
	assert_false(minutes_take(m, WARM_T, midnight + 10, 26));
	assert_false(minutes_take(m, WARM_T, midnight + 9, 26));
	assert_false(minutes_take(m, WARM_T, midnight + 20, NAN));
	assert_false(minutes_take(m, WARM_T, INFINITY, 26));
	assert_false(minutes_take(m, WARM_T, NAN, 26));
	assert_false(minutes_take(m, SERIES, midnight + 20, 26));
	take(COOL_T, midnight + 5, 25);
}

/* A caller that closed too early loses only what it closed. */
static void a_line_into_a_closed_minute_is_clipped(void **state)
{
	(void)state;
	one_series_only();
	take(0, midnight + 40, 20);
	take(0, midnight + 50, 20);
	minutes_close(m, midnight + 90, sink, NULL);
	assert_int_equal(got_count, 1);
	take(0, midnight + 70, 24);
	minutes_finish(m, sink, NULL);
	assert_int_equal(got_count, 2);
	assert_near(got[1].cells[0].ok, 10.0 / 60, 0);
	assert_near(got[1].cells[0].value, 23, 1e-12);
}

/* every = 1 h on one bus, 10 s on another, the fast one with a hole that
 * the slow line spans. */
static void a_slow_series_keeps_hours_pending(void **state)
{
	(void)state;
	struct bus *buses = calloc(2, sizeof *buses);
	size_t fast = 0;

	assert_non_null(buses);
	buses[0] = conf->buses[0];
	buses[1] = (struct bus){ .every = 3600 };
	free(conf->buses);
	conf->buses = buses;
	conf->bus_count = 2;
	conf->probes[1].bus = 1;
	minutes_free(m);
	m = minutes_new(conf, &conf->enclosures[0]);
	take(COOL_T, midnight, 24);
	take(COOL_H, midnight, 50);
	for (int i = 0; i <= 1080; i++)
		if (i < 100 || i > 400) {
			take(WARM_T, midnight + 10 * i, 25);
			minutes_close(m, midnight + 10 * i, sink, NULL);
			fast += i > 0;
		}
	assert_int_equal(got_count, 0);
	take(COOL_T, midnight + 10800, 27);
	take(COOL_H, midnight + 10800, 50);
	minutes_close(m, midnight + 10800, sink, NULL);
	assert_int_equal(got_count, 180);
	double known = 0;

	for (size_t i = 0; i < got_count; i++) {
		assert_int_equal(got[i].end, (int64_t)midnight + 60 * (int64_t)(i + 1));
		assert_near(got[i].cells[COOL_T].ok, 1, 0);
		assert_near(got[i].cells[COOL_T].value, 24 + 3 * ((double)i + 0.5) / 180, 1e-9);
		known += got[i].cells[WARM_T].ok * 60;
	}
	assert_near(known, 10 * ((double)fast - 1), 1e-9);
}

static void a_place_without_a_band_is_known_and_never_out(void **state)
{
	(void)state;
	conf->enclosures[0].places[WARM_SIDE].rules[TEMPERATURE].has_band = false;
	one_series_only();
	take(0, midnight + 30, 80);
	take(0, midnight + 60, 80);
	minutes_finish(m, sink, NULL);
	assert_near(got[0].cells[0].ok, 0.5, 0);
	assert_near(got[0].cells[0].high + got[0].cells[0].low + got[0].cells[0].out, 0, 0);
}

static void a_reload_keeps_readings_and_takes_the_new_band(void **state)
{
	(void)state;
	one_series_only();
	take(0, midnight + 20, 30);
	take(0, midnight + 30, 30);
	conf->enclosures[0].places[WARM_SIDE].rules[TEMPERATURE].night.high = 31;
	assert_true(minutes_reload(m, conf, &conf->enclosures[0]));
	take(0, midnight + 60, 30);
	minutes_close(m, midnight + 60, sink, NULL);
	assert_int_equal(got_count, 1);
	assert_near(got[0].cells[0].ok, 40.0 / 60, 0);
	assert_near(got[0].cells[0].high, 10.0 / 60, 0);
	conf->enclosures[0].places[COOL_SIDE].watched = true;
	assert_false(minutes_reload(m, conf, &conf->enclosures[0]));
}

#define each(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		each(a_whole_minute),
		each(a_line_is_split_at_the_minute),
		each(the_band_changes_within_a_line),
		each(three_times_every_is_known_and_more_is_not),
		each(three_times_an_odd_every_is_known),
		each(a_minute_waits_for_each_series),
		each(a_silent_series_is_waited_for_three_times_every),
		each(a_series_that_never_was_counts_from_the_first_reading),
		each(no_minute_is_closed_before_its_end),
		each(finish_hands_out_the_partial_minute),
		each(nothing_known_is_no_minute),
		each(old_equal_and_impossible_readings_are_refused),
		each(a_line_into_a_closed_minute_is_clipped),
		each(a_slow_series_keeps_hours_pending),
		each(a_place_without_a_band_is_known_and_never_out),
		each(a_reload_keeps_readings_and_takes_the_new_band),
	};

	setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
