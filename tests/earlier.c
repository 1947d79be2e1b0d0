/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Real round-robin files of ten days, and what the days before a window were
 * like against what was put in.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <time.h>

#include "report/earlier.h"
#include "tests/archive_maker.h"

enum { DAYS = 10, MINUTES = DAYS * 1440, DAY = 86400, HOUR = 3600 };
enum { WARM_T, COOL_T, COOL_H, SERIES_COUNT };  /* as T3 has them */

static const long BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */
static const struct series SERIES[] = { { WARM_SIDE, TEMPERATURE, false },
					{ COOL_SIDE, TEMPERATURE, false },
					{ COOL_SIDE, HUMIDITY, false } };

struct fixture {
	struct tiny tiny;
	struct minute *minutes;
	size_t series;          /* how many of SERIES the file has */
};

/* Where summer time begins on 29 March and ends on 25 October 2026, at 01:00 UTC
 * both (Directive 2000/84/EC: the last Sundays). */
static void use_zone(const char *zone)
{
	setenv("TZ", zone, 1);
	tzset();
}

static const char *const SUMMER_TIME = "CET-1CEST,M3.5.0,M10.5.0/3";

static struct minute *minute_at(struct fixture *f, size_t number, size_t series)
{
	return &f->minutes[number * f->series + series];
}

static int begin(void **state)
{
	struct fixture *f = calloc(1, sizeof *f);

	use_zone("UTC");
	tiny_begin(&f->tiny);
	f->tiny.conf.archive.minutes = 12 * DAY;
	f->minutes = calloc((size_t)MINUTES * SERIES_COUNT, sizeof *f->minutes);
	*state = f;
	return 0;
}

static int end(void **state)
{
	struct fixture *f = *state;

	use_zone("UTC");
	tiny_end(&f->tiny);
	free(f->minutes);
	free(f);
	return 0;
}

/* Day d of the file: each series is at 20 + d + (hour of the day) / 100; it is below its
 * band for a tenth, and above for d hundredths, of each minute. */
static void put_days(struct fixture *f, size_t series)
{
	f->series = series;
	for (size_t i = 0; i < MINUTES; i++) {
		double day = (double)(i / 1440), hour = (double)(i / 60 % 24);

		for (size_t s = 0; s < series; s++)
			*minute_at(f, i, s) = (struct minute){ .value = 20 + day + hour / 100,
							       .ok = 1, .low = 0.1,
							       .high = day / 100 };
	}
}

static void archive(struct fixture *f, long from)
{
	archive_make(&f->tiny.conf, "T3", SERIES, f->series, from, f->minutes, MINUTES);
}

static void read_before(struct fixture *f, double from, double to, struct earlier out[MAX_SERIES])
{
	earlier_read(&f->tiny.conf, &f->tiny.enclosures[0], (struct window){ from, to }, out);
}

static void unknown(struct fixture *f, size_t from, size_t to, size_t series)
{
	for (size_t i = from; i < to; i++)
		*minute_at(f, i, series) = (struct minute){ 0 };
}

/* 09:00 to 12:00 of the ninth day (number 8): days 1 to 7 are the seven before. */
static void assert_three_hours(const struct earlier *earlier)
{
	assert_int_equal(earlier->windows, 7);
	assert_near(earlier->mean, 20 + 4 + 0.10, 1e-9);
	assert_near(earlier->low, 3 * HOUR * 0.1, 1e-6);
	assert_near(earlier->high, 3 * HOUR * 0.04, 1e-6);
}

static void the_same_hours_of_seven_days(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	double at = (double)BEGIN + 8 * DAY + 9 * HOUR;

	put_days(f, SERIES_COUNT);
	archive(f, BEGIN);
	read_before(f, at, at + 3 * HOUR, out);
	assert_three_hours(&out[WARM_T]);
	assert_three_hours(&out[COOL_H]);
	assert_true(out[WARM_T].has_band && out[COOL_H].has_band);
	/* The configuration has no band for it: T3's cool side temperature. */
	assert_false(out[COOL_T].has_band);
	assert_int_equal(out[COOL_T].windows, 7);
	assert_near(out[COOL_T].mean, 24.10, 1e-9);
	/* Not on a minute: of the minutes at the edges the shares. */
	read_before(f, at + 30.5, at + HOUR + 30.5, out);
	assert_near(out[WARM_T].low, HOUR * 0.1, 1e-6);
	assert_near(out[WARM_T].mean, 24 + (0.09 * (HOUR - 30.5) + 0.10 * 30.5) / HOUR, 1e-9);
}

/* Six hours of minutes and two days of ten minutes: each day in the rows it has. */
static void each_day_in_its_finest_rows(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	double at = (double)BEGIN + 8 * DAY + 9 * HOUR, late = (double)BEGIN + 9 * DAY + 19 * HOUR;

	f->tiny.conf.archive.minutes = 6 * HOUR;
	put_days(f, 1);
	archive(f, BEGIN);
	read_before(f, at, at + 3 * HOUR, out);
	assert_three_hours(&out[WARM_T]);
	/* The day before has ten-minute rows still: ten minutes all below are not
	 * spread over the hour they end, as they are on the days before it. */
	for (size_t i = 8 * 1440 + 17 * 60 + 50; i < 8 * 1440 + 18 * 60; i++) {
		minute_at(f, i, WARM_T)->low = 1;
		minute_at(f, i, WARM_T)->high = 0;
	}
	archive(f, BEGIN);
	read_before(f, late - HOUR - 600, late - HOUR, out);
	assert_int_equal(out[WARM_T].windows, 7);
	assert_near(out[WARM_T].low, (600 + 6 * 60) / 7.0, 1e-6);
}

static void a_day_less_than_half_known_is_left_out(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	double at = (double)BEGIN + 8 * DAY + 9 * HOUR;
	size_t nine = 9 * 60;

	put_days(f, SERIES_COUNT);
	unknown(f, 7 * 1440 + nine, 7 * 1440 + nine + 91, WARM_T); /* 89 min are known */
	unknown(f, 6 * 1440 + nine, 6 * 1440 + nine + 90, COOL_H); /* 90 min are */
	archive(f, BEGIN);
	read_before(f, at, at + 3 * HOUR, out);
	assert_int_equal(out[WARM_T].windows, 6);
	assert_near(out[WARM_T].mean, 20 + 3.5 + 0.10, 1e-9);
	assert_near(out[WARM_T].high, 3 * HOUR * 0.035, 1e-6);
	assert_int_equal(out[COOL_H].windows, 7);
	assert_near(out[COOL_H].low, (6 * 3 * HOUR + 1.5 * HOUR) * 0.1 / 7, 1e-6);
}

static void before_the_file_there_is_nothing(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	double at = (double)BEGIN + 2 * DAY + 9 * HOUR;

	put_days(f, 1);
	archive(f, BEGIN);
	read_before(f, at, at + 3 * HOUR, out);
	assert_int_equal(out[WARM_T].windows, 2);
	assert_near(out[WARM_T].mean, 20 + 0.5 + 0.10, 1e-9);
	read_before(f, (double)BEGIN, (double)BEGIN + DAY, out);
	assert_int_equal(out[WARM_T].windows, 0);
	assert_false(out[WARM_T].has_band);
}

static void a_longer_window_has_one_before(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	double at = (double)BEGIN + 6 * DAY;

	put_days(f, 1);
	archive(f, BEGIN);
	read_before(f, at, at + 3 * DAY, out); /* days 3, 4, 5 */
	assert_int_equal(out[WARM_T].windows, 1);
	assert_near(out[WARM_T].mean, 20 + 4 + 0.115, 1e-9);
	assert_near(out[WARM_T].high, 3 * DAY * 0.04, 1e-6);
	/* A day and a half: the same hours two days before. */
	read_before(f, at, at + DAY + DAY / 2, out);
	assert_int_equal(out[WARM_T].windows, 1);
	assert_near(out[WARM_T].high, DAY * 0.04 + DAY / 2 * 0.05, 1e-6);
}

/* Each minute of the warm side has the hour on the wall as its value. */
static void put_wall_clock(struct fixture *f, long from)
{
	f->series = 1;
	for (size_t i = 0; i < MINUTES; i++) {
		time_t at = from + (long)i * 60;
		struct tm local;

		localtime_r(&at, &local);
		*minute_at(f, i, WARM_T) = (struct minute){ .value = local.tm_hour, .ok = 1,
							    .low = 1 };
	}
	archive(f, from);
}

static double local_time(int month, int day, int hour)
{
	struct tm local = { .tm_year = 126, .tm_mon = month - 1, .tm_mday = day, .tm_hour = hour,
			    .tm_isdst = -1 };

	return (double)mktime(&local);
}

/* 29 March 2026 has 23 hours. */
static void the_clocks_go_forward(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	double noon;

	use_zone(SUMMER_TIME);
	put_wall_clock(f, 1773964800); /* 2026-03-20T00:00:00Z */
	noon = local_time(3, 29, 12);
	read_before(f, local_time(3, 29, 8), noon, out);
	assert_int_equal(out[WARM_T].windows, 7);
	assert_near(out[WARM_T].mean, 9.5, 1e-9); /* 8, 9, 10, 11 by the wall */
	assert_near(out[WARM_T].low, 4 * HOUR, 1e-6);
	/* The short day itself, against whole ones. */
	read_before(f, local_time(3, 29, 0), local_time(3, 30, 0), out);
	assert_int_equal(out[WARM_T].windows, 7);
	assert_near(out[WARM_T].low, 24 * HOUR, 1e-6);
	assert_near(out[WARM_T].mean, 11.5, 1e-9);
	/* 24 hours over that night are 25 on the wall: 11:00 to 12:00 is not
	 * compared with itself, nor counted twice. */
	read_before(f, noon - DAY, noon, out);
	assert_int_equal(out[WARM_T].windows, 7);
	assert_near(out[WARM_T].low, 24 * HOUR, 1e-6);
	assert_near(out[WARM_T].mean, 11.5, 1e-9);
}

/* Hours the clock skipped are compared with what mktime() takes for them, or not at
 * all. */
static void hours_that_were_skipped(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	double two;

	use_zone(SUMMER_TIME);
	put_wall_clock(f, 1774051200); /* 2026-03-21T00:00:00Z */
	two = local_time(3, 30, 2);
	read_before(f, two + 1800, two + 4200, out);
	assert_true(out[WARM_T].windows == 6 || out[WARM_T].windows == 7);
	assert_true(out[WARM_T].mean > 1.8 && out[WARM_T].mean < 2.6);
}

/* 25 October 2026 has 25 hours. */
static void the_clocks_go_back(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	double noon;

	use_zone(SUMMER_TIME);
	put_wall_clock(f, 1792195200); /* 2026-10-17T00:00:00Z */
	noon = local_time(10, 26, 12);
	read_before(f, local_time(10, 26, 8), noon, out);
	assert_int_equal(out[WARM_T].windows, 7);
	assert_near(out[WARM_T].mean, 9.5, 1e-9);
	/* The long day is one day, not two. */
	read_before(f, local_time(10, 25, 0), local_time(10, 26, 0), out);
	assert_int_equal(out[WARM_T].windows, 7);
	assert_near(out[WARM_T].mean, 11.5, 0.03); /* the file begins at 02:00 by the wall */
	/* And among those before it counts as long as it was. */
	read_before(f, local_time(10, 26, 0), local_time(10, 27, 0), out);
	assert_int_equal(out[WARM_T].windows, 7);
	assert_near(out[WARM_T].low, (6 * 24 + 25) * HOUR / 7.0, 1e-6);
}

static void no_archive_gives_nothing(void **state)
{
	struct fixture *f = *state;
	struct earlier out[MAX_SERIES];
	char *path = archive_path(f->tiny.folder, "T3");
	FILE *file;

	memset(out, 0xff, sizeof out);
	read_before(f, (double)BEGIN + 8 * DAY, (double)BEGIN + 9 * DAY, out);
	for (size_t i = 0; i < MAX_SERIES; i++)
		assert_true(out[i].windows == 0 && !out[i].has_band);
	file = fopen(path, "w");
	assert_non_null(file);
	assert_true(fputs("no round-robin file", file) >= 0);
	assert_int_equal(fclose(file), 0);
	read_before(f, (double)BEGIN + 8 * DAY, (double)BEGIN + 9 * DAY, out);
	assert_int_equal(out[WARM_T].windows, 0);
	free(path);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(the_same_hours_of_seven_days, begin, end),
		cmocka_unit_test_setup_teardown(each_day_in_its_finest_rows, begin, end),
		cmocka_unit_test_setup_teardown(a_day_less_than_half_known_is_left_out, begin, end),
		cmocka_unit_test_setup_teardown(before_the_file_there_is_nothing, begin, end),
		cmocka_unit_test_setup_teardown(a_longer_window_has_one_before, begin, end),
		cmocka_unit_test_setup_teardown(the_clocks_go_forward, begin, end),
		cmocka_unit_test_setup_teardown(hours_that_were_skipped, begin, end),
		cmocka_unit_test_setup_teardown(the_clocks_go_back, begin, end),
		cmocka_unit_test_setup_teardown(no_archive_gives_nothing, begin, end),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
