/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page's plots, read back from their paths: every column of every curve is
 * where the readings say.
 */
#include "tests/cm.h"

#include "conf/memory.h"
#include "tests/page_case.h"

/* A curve of the panel, column for column. */
static void assert_line(const struct drawn *drawn, size_t series, const char *class, size_t n,
			enum layer layer)
{
	const struct graph_panel *panel = &drawn->graph.panels[series];
	const double *values = panel->curve.layers[layer];
	const char *at = path_of(drawn->plots[series], class, n);
	struct stroke *stroke = must_calloc(1, sizeof *stroke);

	assert_non_null(at);
	for (size_t from = 0, to; curve_run(&panel->curve, layer, &from, &to); from = to) {
		assert_true(next_stroke(&at, stroke));
		assert_near(stroke->x[0], 2 * (double)from + 1, 0);
		assert_near(stroke->x[stroke->count - 1], 2 * (double)to - 1, 0);
		for (size_t i = from; i < to; i++)
			assert_near(panel->high - height_at(stroke, 2 * (double)i + 1) / Y_SCALE,
				    values[i], 0.005 + 1e-9);
	}
	assert_false(next_stroke(&at, stroke));
	free(stroke);
}

/* An area of the panel, column for column: between two of its layers. */
static void assert_area(const struct drawn *drawn, size_t series, const char *class,
			enum layer low, enum layer high)
{
	const struct graph_panel *panel = &drawn->graph.panels[series];
	const char *at = path_of(drawn->plots[series], class, 0);
	struct stroke *stroke = must_calloc(1, sizeof *stroke);
	double top, bottom;

	assert_non_null(at);
	for (size_t from = 0, to; curve_run(&panel->curve, low, &from, &to); from = to) {
		assert_true(next_stroke(&at, stroke));
		assert_true(stroke->closed);
		for (size_t i = from; i < to; i++) {
			heights_at(stroke, 2 * (double)i + 1, &top, &bottom);
			assert_near(panel->high - top / Y_SCALE, panel->curve.layers[high][i],
				    0.005 + 1e-9);
			assert_near(panel->high - bottom / Y_SCALE, panel->curve.layers[low][i],
				    0.005 + 1e-9);
		}
		heights_at(stroke, 2 * (double)from - 0.5, &top, &bottom);
		assert_true(isinf(top)); /* nothing of it beside the run */
		heights_at(stroke, 2 * (double)to + 0.5, &top, &bottom);
		assert_true(isinf(top));
	}
	assert_false(next_stroke(&at, stroke));
	free(stroke);
}

/* ---- plots -------------------------------------------------------------------------- */

/* A restless day: each reading differs from the one before, with gaps and a lone one. */
static void fill(struct account_case *c)
{
	for (size_t i = 0; i < 1440; i++) {
		double wave = sin((double)i / 50);

		account_case_put(c, WARM_T, i, i + 1, 28.003 + 6 * wave);
		account_case_put(c, COOL_T, i, i + 1, i % 20 < 10 ? 24 : 24 + wave / 100);
		account_case_put(c, COOL_H, i, i + 1, 55 - 20 * wave);
	}
	account_case_put(c, WARM_T, 300, 360, NAN);
	account_case_put(c, WARM_T, 362, 400, NAN);
	account_case_put(c, WARM_T, 1400, 1440, NAN);
	account_case_put(c, COOL_T, 0, 100, NAN);
}

static void the_reading_is_where_it_was(void **state)
{
	struct account_case *c = *state;
	struct drawn drawn;

	fill(c);
	for (int units = CELSIUS; units <= FAHRENHEIT; units++) {
		draw(c, (enum units)units, &drawn);
		assert_int_equal(drawn.graph.panels[0].curve.columns, PAGE_COLUMNS);
		for (size_t i = 0; i < CASE_SERIES; i++)
			assert_line(&drawn, i, "reading", 0, LAYER_LINE);
		assert_null(strstr(drawn.plots[WARM_T], "nan"));
		/* Minutes 360 and 361 are one column: a dot. */
		assert_non_null(strstr(drawn.plots[WARM_T], "M361 "));
		assert_non_null(strstr(drawn.plots[WARM_T], "h0M401 "));
		undraw(&drawn);
	}
}

static void a_level_line_is_two_points(void **state)
{
	struct account_case *c = *state;
	struct stroke *stroke = must_calloc(1, sizeof *stroke);
	struct drawn drawn;
	const char *at;

	draw(c, CELSIUS, &drawn);
	at = path_of(drawn.plots[WARM_T], "reading", 0);
	assert_true(next_stroke(&at, stroke));
	assert_int_equal(stroke->count, 2);
	assert_line(&drawn, WARM_T, "reading", 0, LAYER_LINE);
	assert_null(path_of(drawn.plots[WARM_T], "below", 0));
	assert_null(path_of(drawn.plots[WARM_T], "unknown", 0));
	assert_null(path_of(drawn.plots[WARM_T], "hair", 0));
	assert_null(path_of(drawn.plots[COOL_T], "band", 0));
	undraw(&drawn);
	free(stroke);
}

static void areas_lie_between_reading_and_edge(void **state)
{
	struct account_case *c = *state;
	struct drawn drawn;

	fill(c);
	draw(c, CELSIUS, &drawn);
	assert_area(&drawn, WARM_T, "below", LAYER_UNDER_FROM, LAYER_UNDER_TO);
	assert_area(&drawn, WARM_T, "above", LAYER_OVER_FROM, LAYER_OVER_TO);
	assert_area(&drawn, COOL_H, "below", LAYER_UNDER_FROM, LAYER_UNDER_TO);
	assert_area(&drawn, WARM_T, "band", LAYER_BAND_LOW, LAYER_BAND_HIGH);
	assert_area(&drawn, COOL_H, "band", LAYER_BAND_LOW, LAYER_BAND_HIGH);
	undraw(&drawn);
}

static void coarse_columns_have_two_hairs(void **state)
{
	struct account_case *c = *state;
	struct drawn drawn;

	account_case_rows(c, CASE_NOON, 24 * 31, 3600);
	for (size_t i = 0; i < 24 * 31; i++) {
		struct row *row = &c->record.series[WARM_T].list[i];

		account_case_put(c, WARM_T, i, i + 1, 28 + sin((double)i));
		row->min -= 1.5;
		row->max += 2.25;
	}
	account_case_put(c, WARM_T, 100, 300, NAN);
	draw(c, CELSIUS, &drawn);
	assert_true(drawn.graph.panels[WARM_T].curve.coarse);
	assert_line(&drawn, WARM_T, "hair", 0, LAYER_LEAST);
	assert_line(&drawn, WARM_T, "hair", 1, LAYER_MOST);
	assert_line(&drawn, WARM_T, "reading", 0, LAYER_LINE);
	undraw(&drawn);
}

/* By day 27..31, from 20:00 for 90 min 23..31, then 23..29, from 08:00 23..31, from 09:30
 * 27..31: noon is column 0, an hour 30 of them, a column 2 wide. */
static void the_ribbon_changes_where_the_band_does(void **state)
{
	struct account_case *c = *state;
	const double edges[] = { 8, 9.5, 20, 21.5 }, lows[] = { 27, 23, 23, 23, 27 },
		     highs[] = { 31, 31, 29, 31, 31 };
	struct stroke *stroke = must_calloc(1, sizeof *stroke);
	struct drawn drawn;
	const struct graph_panel *panel;
	const char *at;
	double top, bottom;

	draw(c, CELSIUS, &drawn);
	panel = &drawn.graph.panels[WARM_T];
	at = path_of(drawn.plots[WARM_T], "band", 0);
	assert_true(next_stroke(&at, stroke));
	for (size_t i = 0; i <= 4; i++) {
		double begin = i ? edges[i - 1] * 60 : 0, end = i < 4 ? edges[i] * 60 : 1440;

		for (double x = begin + 0.25; x < end; x += 0.5) {
			heights_at(stroke, x, &top, &bottom);
			assert_near(panel->high - top / Y_SCALE, highs[i], 0.005 + 1e-9);
			assert_near(panel->high - bottom / Y_SCALE, lows[i], 0.005 + 1e-9);
		}
	}
	/* The night with its changeover, 20:00 to 08:00. */
	assert_non_null(strstr(drawn.plots[WARM_T], "<rect class=\"night\" x=\"480\" "));
	assert_non_null(strstr(drawn.plots[WARM_T], "width=\"720\" "));
	undraw(&drawn);
	free(stroke);
}

/* The limits, column for column: level, and a step at minute 1200, column 600; the axis is
 * wide enough for all four.  Hatched is only what was beyond those of then. */
static void limits_step_where_they_move(void **state)
{
	const double levels[2][2] = { { 15, 4 }, { 36, 18 } };
	struct account_case *c = *state;
	struct stroke *stroke = must_calloc(1, sizeof *stroke);
	struct drawn drawn;

	for (int move = 0; move < CASE_MOVES; move++) {
		tiny_end(&c->tiny);
		tiny_begin(&c->tiny);
		account_case_rows(c, CASE_NOON, 1440, 60);
		account_case_move(c, (enum case_move)move);
		account_case_put(c, WARM_T, 0, 1200, 28);
		account_case_put(c, WARM_T, 100, 200, 34);    /* above, limit 36 */
		account_case_put(c, WARM_T, 1200, 1300, 17);  /* above, limit 18 */
		account_case_put(c, WARM_T, 1300, 1440, 24);  /* beyond 18, not 36 */
		draw(c, CELSIUS, &drawn);
		const struct graph_panel *panel = &drawn.graph.panels[WARM_T];

		for (size_t side = 0; side < SIDES; side++) {
			const char *at = path_of(drawn.plots[WARM_T], "limit", side);

			assert_non_null(at);
			assert_true(next_stroke(&at, stroke));
			assert_int_equal(stroke->count, 4);
			for (size_t i = 0; i < 4; i++) {
				assert_near(stroke->x[i], i == 0 ? 0 : i == 3 ? 1440 : 1200, 0);
				assert_near(panel->high - stroke->y[i] / Y_SCALE,
					    levels[side][i / 2], 0.005 + 1e-9);
			}
			assert_false(next_stroke(&at, stroke));
		}
		for (size_t column = 0; column < PAGE_COLUMNS; column++)
			assert_int_equal(curve_beyond(&panel->curve, column, ABOVE), column >= 650);
		assert_true(drawn.strip[TEMPERATURE].beyond);
		assert_non_null(strstr(drawn.strips[TEMPERATURE], "above beyond\" d=\"M1300 0"));
		undraw(&drawn);
	}
	free(stroke);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_CASE(test) cmocka_unit_test_setup_teardown(test, account_case_begin, account_case_end)
		WITH_CASE(the_reading_is_where_it_was),
		WITH_CASE(a_level_line_is_two_points),
		WITH_CASE(areas_lie_between_reading_and_edge),
		WITH_CASE(coarse_columns_have_two_hairs),
		WITH_CASE(limits_step_where_they_move),
		WITH_CASE(the_ribbon_changes_where_the_band_does),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
