/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The columns of a graph, and the bands of the past.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/curve.h"
#include "tests/archive_maker.h"

enum { MINUTES = 1440 };

/* 2026-01-05T12:00+01:00, noon in the zone of these tests. */
static const double NOON = 1767610800;
static const struct window DAY_LONG = { 1767610800, 1767610800 + 86400 };

/* A day of one series of the tiny enclosure, and its ribbon: minutes 300 to
 * 359 unknown, 600 to 659 above by `over`, from 1080 on below by `under`. */
struct fixture {
	struct tiny tiny;
	struct series_rows warm, humid;
	struct ribbon warm_ribbon, humid_ribbon;
};

static void fill(struct series_rows *rows, struct series series, double value, double over,
		 double under)
{
	rows->series = series;
	rows->count = MINUTES;
	rows->list = must_calloc(MINUTES, sizeof *rows->list);
	for (size_t i = 0; i < MINUTES; i++) {
		struct row *row = &rows->list[i];

		*row = (struct row){ .from = NOON + 60.0 * (double)i,
				     .to = NOON + 60.0 * (double)i + 60 };
		if (i >= 300 && i < 360)
			continue;
		row->ok = 60;
		row->has_value = true;
		row->value = value;
		if (over > 0 && i >= 600 && i < 660)
			row->value = over, row->high = 60, row->out = 240;
		if (under > 0 && i >= 1080)
			row->value = under, row->low = 60, row->out = 420;
		row->min = row->max = row->value;
	}
}

static void load_ribbon(const struct tiny *tiny, struct series series, struct ribbon *out)
{
	struct band_list bands;

	bands_load(tiny->conf.state, &bands);
	ribbon_make(&bands, &tiny->conf, &tiny->enclosures[0], series, NOON + 3 * 86400, out);
	bands_clear(&bands);
}

static int begin(void **state)
{
	struct fixture *f = must_calloc(1, sizeof *f);
	const struct series warm = { WARM_SIDE, TEMPERATURE, false };
	const struct series humid = { COOL_SIDE, HUMIDITY, false };

	tiny_begin(&f->tiny);
	fill(&f->warm, warm, 28, 33, 0);
	fill(&f->humid, humid, 55, 0, 38);
	load_ribbon(&f->tiny, warm, &f->warm_ribbon);
	load_ribbon(&f->tiny, humid, &f->humid_ribbon);
	*state = f;
	return 0;
}

static int end(void **state)
{
	struct fixture *f = *state;

	ribbon_clear(&f->warm_ribbon);
	ribbon_clear(&f->humid_ribbon);
	free(f->warm.list);
	free(f->humid.list);
	tiny_end(&f->tiny);
	free(f);
	return 0;
}

static size_t counted(const struct curve *curve, enum layer layer)
{
	size_t count = 0;

	for (size_t c = 0; c < curve->columns; c++)
		count += isnan(curve->layers[layer][c]) ? 0u : 1u;
	return count;
}

static void each_layer_is_where_it_belongs(void **state)
{
	struct fixture *f = *state;
	struct curve curve;

	/* 1440 columns are a minute each. */
	curve_make(&f->humid, &f->humid_ribbon, DAY_LONG, 1440, CELSIUS, &curve);
	assert_int_equal(curve.step, 60);
	assert_int_equal(curve.columns, 1440);
	assert_false(curve.coarse);
	assert_int_equal(counted(&curve, LAYER_LINE), 1380);
	assert_int_equal(counted(&curve, LAYER_UNKNOWN), 60);
	assert_int_equal(counted(&curve, LAYER_UNDER_FROM), 360);
	assert_int_equal(counted(&curve, LAYER_OVER_FROM), 0);
	assert_int_equal(counted(&curve, LAYER_NIGHT), 720); /* 20:00 to 08:00 */
	assert_near(curve.layers[LAYER_UNDER_FROM][1400], 38, 0);
	assert_near(curve.layers[LAYER_UNDER_TO][1400], 45, 0);
	/* 60 by day; 65 from 20:00 until 90 minutes after 08:00. */
	assert_near(curve.layers[LAYER_BAND_HIGH][479], 60, 0);
	assert_near(curve.layers[LAYER_BAND_HIGH][480], 65, 0);
	assert_near(curve.layers[LAYER_BAND_HIGH][1200 + 89], 65, 0);
	assert_near(curve.layers[LAYER_BAND_HIGH][1200 + 90], 60, 0);
	curve_clear(&curve);
}

static void runs_are_what_lies_between_gaps(void **state)
{
	double line[] = { NAN, 1, 2, NAN, NAN, 3 };
	const struct curve curve = { .columns = 6, .layers = { [LAYER_LINE] = line } };
	size_t begin = 0, end = 0;

	(void)state;
	assert_true(curve_run(&curve, LAYER_LINE, &begin, &end));
	assert_int_equal(begin, 1);
	assert_int_equal(end, 3);
	begin = end;
	assert_true(curve_run(&curve, LAYER_LINE, &begin, &end));
	assert_int_equal(begin, 5);
	assert_int_equal(end, 6);
	begin = end;
	assert_false(curve_run(&curve, LAYER_LINE, &begin, &end));
	begin = 2; /* within a run: its rest */
	assert_true(curve_run(&curve, LAYER_LINE, &begin, &end));
	assert_int_equal(begin, 2);
	assert_int_equal(end, 3);
}

static void degrees_fahrenheit_before_it_is_drawn(void **state)
{
	struct fixture *f = *state;
	struct curve curve;

	curve_make(&f->warm, &f->warm_ribbon, DAY_LONG, 1440, FAHRENHEIT, &curve);
	assert_near(curve.layers[LAYER_LINE][0], 82.4, 1e-9);
	assert_near(curve.layers[LAYER_BAND_LOW][0], 80.6, 1e-9);
	assert_near(curve.layers[LAYER_OVER_FROM][630], 84.2, 1e-9);
	assert_near(curve.layers[LAYER_OVER_TO][630], 91.4, 1e-9);
	assert_near(curve.layers[LAYER_UNKNOWN][330], 1, 0);
	curve_clear(&curve);
}

static void coarse_columns_keep_their_extremes(void **state)
{
	struct fixture *f = *state;
	struct curve curve;
	struct window month = { NOON - 30 * 86400.0, NOON + 86400 };

	curve_make(&f->warm, &f->warm_ribbon, month, 300, CELSIUS, &curve);
	assert_true(curve.coarse);
	assert_int_equal(curve.step, 86400);

	double most = -INFINITY, to = -INFINITY;

	for (size_t c = 0; c < curve.columns; c++) {
		most = fmax(most, curve.layers[LAYER_MOST][c]);
		to = fmax(to, curve.layers[LAYER_OVER_TO][c]);
	}
	assert_near(most, 33, 0);
	assert_near(to, 33, 0);
	assert_near(curve.layers[LAYER_BAND_LOW][0], 23, 0); /* day and night in one */
	assert_near(curve.layers[LAYER_BAND_HIGH][0], 31, 0);
	curve_clear(&curve);
}

/* A changed band: the past keeps the one it was judged by. */
static void past_bands_are_drawn_from_their_log(void **state)
{
	struct fixture *f = *state;
	struct series series = { COOL_SIDE, HUMIDITY, false };
	struct band_record record =
		band_record_of(&f->tiny.conf, &f->tiny.enclosures[0], series, NOON + 3600);
	char *path = state_path(f->tiny.folder, BANDS_FILE);
	FILE *file = fopen(path, "w");
	char *now = band_to_line(&record);

	record.time = NOON - 86400;
	record.day.high = record.night.high = 70;

	char *before = band_to_line(&record);
	struct ribbon ribbon;

	fprintf(file, "%s\n{\"torn\n%s\n", now, before); /* in any order */
	fclose(file);
	load_ribbon(&f->tiny, series, &ribbon);
	assert_int_equal(ribbon.count, 2);
	assert_near(ribbon_at(&ribbon, NOON - 2 * 86400).band.high, 70, 0);
	assert_near(ribbon_at(&ribbon, NOON + 3599).band.high, 70, 0);
	assert_near(ribbon_at(&ribbon, NOON + 3600).band.high, 60, 0);
	assert_false(ribbon_at(&ribbon, NOON).night);
	assert_true(ribbon_at(&ribbon, NOON + 10 * 3600).night);
	ribbon_clear(&ribbon);
	free(now);
	free(before);
	free(path);
}

/* Three hours on a thousand pixels: no column is finer than a minute mean, or
 * the line would be a stair. */
static void no_column_is_finer_than_the_archive(void **state)
{
	struct fixture *f = *state;
	const struct window hours = { NOON + 90, NOON + 90 + 3 * 3600 };
	struct curve curve;

	curve_make(&f->humid, &f->humid_ribbon, hours, 1000, CELSIUS, &curve);
	assert_int_equal(curve.step, 60);
	assert_int_equal(curve.from, NOON + 60);
	assert_int_equal(curve.columns, 181);
	curve_clear(&curve);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_DAY(test) cmocka_unit_test_setup_teardown(test, begin, end)
		WITH_DAY(each_layer_is_where_it_belongs),
		cmocka_unit_test(runs_are_what_lies_between_gaps),
		WITH_DAY(degrees_fahrenheit_before_it_is_drawn),
		WITH_DAY(coarse_columns_keep_their_extremes),
		WITH_DAY(past_bands_are_drawn_from_their_log),
		WITH_DAY(no_column_is_finer_than_the_archive),
	};

	setenv("TZ", "Europe/Berlin", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
