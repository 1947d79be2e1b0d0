/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Random readings to minutes, against an integration in steps of 1/64 s that
 * knows nothing of lines and edges.
 */
#include "tests/cm.h"

#include <time.h>

#include "daemon/minutes.h"
#include "tests/small_conf.h"

enum { MOST = 100 };

/* 2026-01-05 00:00 UTC; the zone is UTC throughout. */
static const double midnight = 1767571200;

static struct closed_minute got[MOST];
static size_t got_count;

static void sink(void *context, const struct closed_minute *minute)
{
	(void)context;
	assert_true(got_count < MOST);
	got[got_count++] = *minute;
}

enum { STEPS = 64, LENGTH = 1800 };

struct point {
	double time, value;
};

static double chance(void)
{
	return (double)rand() / RAND_MAX;
}

/* The value at t, or NAN where nothing is known. */
static double value_at(const struct point *points, size_t count, double t)
{
	for (size_t i = 1; i < count; i++) {
		const struct point *a = &points[i - 1], *b = &points[i];

		if (a->time <= t && t < b->time)
			return b->time - a->time > 30
				       ? NAN
				       : a->value + (b->value - a->value) * (t - a->time) /
							    (b->time - a->time);
	}
	return NAN;
}

static void compare_minute(const struct closed_minute *minute, const struct point *points,
			   size_t count, double switch_at)
{
	double low = 0, high = 0, known = 0, area = 0, out = 0, step = 1.0 / STEPS;

	for (int i = 0; i < 60 * STEPS; i++) {
		double t = (double)minute->end - 60 + (i + 0.5) * step;
		double v = value_at(points, count, t);
		struct range band =
			t < switch_at ? (struct range){ 23, 29 } : (struct range){ 27, 31 };

		if (isnan(v))
			continue;
		known += step;
		area += v * step;
		low += v < band.low ? step : 0;
		high += v > band.high ? step : 0;
		out += fmax(0, fmax(band.low - v, v - band.high)) * step;
	}
	/* Each end of a line and each crossing may be half a step out. */
	assert_near(minute->cells[0].ok * 60, known, 0.2);
	assert_near(minute->cells[0].low * 60, low, 0.3);
	assert_near(minute->cells[0].high * 60, high, 0.3);
	assert_near(minute->cells[0].out * 60, out, 1);
	assert_near(minute->cells[0].value * minute->cells[0].ok * 60, area, 6);
}

static void random_lines(void **state)
{
	(void)state;
	unsigned seed = (unsigned)time(NULL);

	print_message("seed %u\n", seed);
	srand(seed);
	for (int round = 0; round < 5; round++) {
		struct point points[LENGTH];
		size_t count = 0;
		double begin = midnight + 8 * 3600 - LENGTH / 2 + 60 * round + chance();

		struct conf *conf = small_conf(NULL, 1, 10);

		conf->day.changeover = 0;
		conf->enclosures[0].places[COOL_SIDE].watched = false;
		struct minutes *m = minutes_new(conf, &conf->enclosures[0]);

		got_count = 0;
		for (double t = begin; t < begin + LENGTH && count < LENGTH;
		     t += chance() < 0.05 ? 20 + 60 * chance() : 1 + 12 * chance()) {
			points[count] = (struct point){ t, 20 + 14 * chance() };
			assert_true(minutes_take(m, 0, t, points[count++].value));
			minutes_close(m, t, sink, NULL);
		}
		minutes_finish(m, sink, NULL);
		assert_true(got_count > 10);
		for (size_t i = 0; i < got_count; i++)
			compare_minute(&got[i], points, count, midnight + 8 * 3600);
		minutes_free(m);
		small_conf_free(conf);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(random_lines),
	};

	setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
