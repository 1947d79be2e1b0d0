/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One plot on a sheet: which pixels get which colour, and what an SVG says.
 */
#include "tests/cm.h"

#include <stdlib.h>

#include "conf/memory.h"
#include "report/panel.h"
#include "tests/drawn.h"

enum { COUNT = 10, LEFT = 10, TOP = 10, WIDTH = 100, HEIGHT = 50 };

static const uint32_t PAGE = 0xFBF8F2, RIBBON = 0xE6DECF, BLUE = 0x0072B2, VERMILION = 0xD55E00;

/* Ten columns of a minute, ten pixels each; an axis of 20 to 30 °C, five
 * pixels a degree.  Columns 3 and 4 are below, beyond the limit of 23 °C;
 * column 7 is unknown; from column 6 on the band reaches a degree higher. */
struct fixture {
	double layers[LAYERS][COUNT];
	struct curve curve;
	struct panel panel;
	struct sheet sheet;
};

static int begin(void **state)
{
	struct fixture *f = must_calloc(1, sizeof *f);

	f->curve = (struct curve){ .step = 60, .columns = COUNT };
	for (int layer = 0; layer < LAYERS; layer++) {
		f->curve.layers[layer] = f->layers[layer];
		for (size_t c = 0; c < COUNT; c++)
			f->layers[layer][c] = NAN;
	}
	for (size_t c = 0; c < COUNT; c++) {
		bool below = c == 3 || c == 4;

		f->layers[LAYER_BAND_LOW][c] = 24;
		f->layers[LAYER_BAND_HIGH][c] = c < 6 ? 28 : 29;
		f->layers[LAYER_LIMIT_LOW][c] = 23;
		f->layers[LAYER_LIMIT_HIGH][c] = 29.5;
		if (c == 7) {
			f->layers[LAYER_UNKNOWN][c] = 1;
			continue;
		}
		f->layers[LAYER_LINE][c] = below ? 21 : 26;
		f->layers[LAYER_LEAST][c] = f->layers[LAYER_LINE][c] - 0.5;
		f->layers[LAYER_MOST][c] = f->layers[LAYER_LINE][c] + 0.5;
		if (!below)
			continue;
		f->layers[LAYER_UNDER_FROM][c] = 21;
		f->layers[LAYER_UNDER_TO][c] = 24;
	}
	f->panel = (struct panel){ .curve = &f->curve, .window = { 0, 600 }, .left = LEFT,
				   .top = TOP, .width = WIDTH, .height = HEIGHT, .low = 20,
				   .high = 30 };
	sheet_begin(&f->sheet, LEFT + WIDTH + 10, TOP + HEIGHT + 10, COLOUR_PAGE);
	*state = f;
	return 0;
}

static int end(void **state)
{
	struct fixture *f = *state;

	sheet_clear(&f->sheet);
	free(f);
	return 0;
}

static void draw(struct fixture *f, struct pixels *out)
{
	char *trouble = NULL;
	size_t size;

	panel_draw(&f->panel, &f->sheet);

	unsigned char *png = sheet_to_png(&f->sheet, &size, &trouble);

	if (!png)
		fail_msg("%s", trouble);
	pixels_read(png, size, out);
	free(png);
}

static char *draw_svg(struct fixture *f)
{
	char *trouble = NULL;
	size_t size;

	panel_draw(&f->panel, &f->sheet);
	return (char *)sheet_to_svg(&f->sheet, &size, &trouble);
}

/* In the middle of a column, and where the value lies. */
static uint32_t colour_at(const struct pixels *pixels, int column, double value)
{
	return pixel_at(pixels, LEFT + column * 10 + 5, TOP + (int)((30 - value) * 5));
}

static void places_have_their_colours(void **state)
{
	struct fixture *f = *state;
	struct pixels p;

	draw(f, &p);
	assert_int_equal(colour_at(&p, 5, 27), RIBBON);
	assert_int_equal(colour_at(&p, 5, 28.5), PAGE);
	assert_int_equal(colour_at(&p, 3, 23.5), BLUE);
	assert_int_equal(colour_at(&p, 4, 23.5), BLUE);
	assert_int_equal(colour_at(&p, 1, 23.5), PAGE);
	assert_int_equal(pixels_of_all(&p, VERMILION), 0);
	/* The reading itself, near black, and none where nothing is known. */
	assert_true((colour_at(&p, 1, 26) & 0xff) < 0x60);
	assert_int_equal(colour_at(&p, 7, 26), RIBBON);
	/* Unknown time is dotted above the base, and only there. */
	assert_true(pixels_of(&p, LEFT + 70, TOP + 43, LEFT + 80, TOP + 47, PAGE) < 36);
	assert_int_equal(pixels_of(&p, LEFT + 82, TOP + 43, LEFT + 90, TOP + 47, PAGE), 32);
	pixels_free(&p);
}

/* The band changes with column 6, at exactly 60 pixels. */
static void a_band_steps_at_its_instant(void **state)
{
	struct fixture *f = *state;
	struct pixels p;

	draw(f, &p);
	assert_int_equal(pixel_at(&p, LEFT + 59, TOP + 7), PAGE);
	assert_int_equal(pixel_at(&p, LEFT + 60, TOP + 7), RIBBON);
	pixels_free(&p);
}

/* The area ends where the reading crosses the edge: of the 5 degrees between
 * columns 2 and 3 it has 3 to go, 4 of the 10 pixels from middle to middle. */
static void an_area_ends_where_the_reading_crosses(void **state)
{
	struct fixture *f = *state;
	struct pixels p;

	draw(f, &p);
	assert_int_equal(pixel_at(&p, LEFT + 27, TOP + 31), PAGE);
	assert_int_equal(pixel_at(&p, LEFT + 32, TOP + 31), BLUE);
	assert_int_equal(pixel_at(&p, LEFT + 47, TOP + 31), BLUE);
	assert_int_equal(pixel_at(&p, LEFT + 53, TOP + 31), PAGE);
	pixels_free(&p);
}

/* What lies beyond the limit has strokes in the page's colour, the rest none. */
static void beyond_the_limits_it_is_hatched(void **state)
{
	struct fixture *f = *state;
	const int left = LEFT + 36, right = LEFT + 44;
	struct pixels p;

	draw(f, &p);
	assert_int_equal(pixels_of(&p, left, TOP + 31, right, TOP + 34, BLUE), 3 * 8);
	size_t plain = pixels_of(&p, left, TOP + 36, right, TOP + 43, BLUE);

	assert_true(plain > 7 * 8 / 4 && plain < 7 * 8 * 3 / 4);
	pixels_free(&p);
	for (size_t c = 0; c < COUNT; c++)
		f->layers[LAYER_LIMIT_LOW][c] = NAN;
	draw(f, &p);
	assert_int_equal(pixels_of(&p, left, TOP + 36, right, TOP + 43, BLUE), 7 * 8);
	pixels_free(&p);
}

/* From column 4 on, at 40 pixels, the limit is 20.5 °C and no longer 23 °C: the same
 * reading is hatched before it and not after it; and the other way round. */
static void hatching_follows_the_limits_of_then(void **state)
{
	struct fixture *f = *state;

	for (int turned = 0; turned < 2; turned++) {
		const int sides[2][2] = { { LEFT + 36, LEFT + 40 }, { LEFT + 41, LEFT + 45 } };
		size_t plain[2];
		struct pixels p;

		for (size_t c = 0; c < COUNT; c++)
			f->layers[LAYER_LIMIT_LOW][c] = (c < 4) == !turned ? 23 : 20.5;
		draw(f, &p);
		for (int side = 0; side < 2; side++)
			plain[side] = pixels_of(&p, sides[side][0], TOP + 36, sides[side][1],
						TOP + 43, BLUE);
		assert_in_range(plain[turned], 4, 7 * 4 * 3 / 4);
		assert_int_equal(plain[!turned], 7 * 4);
		pixels_free(&p);
		sheet_clear(&f->sheet);
		sheet_begin(&f->sheet, LEFT + WIDTH + 10, TOP + HEIGHT + 10, COLOUR_PAGE);
	}
}

/* Each limit's line is level over its columns, upright where it moves, and not where the
 * axis ends: 23 °C lies at 45 pixels, 29.5 °C at 12.5, 25 °C at 35. */
static void a_limit_steps_at_its_instant(void **state)
{
	const uint32_t limit = 0x8A8274;
	struct fixture *f = *state;
	struct pixels p;

	for (size_t c = 0; c < COUNT; c++) {
		f->layers[LAYER_UNDER_FROM][c] = f->layers[LAYER_BAND_LOW][c] = NAN;
		f->layers[LAYER_LINE][c] = 26;
		f->layers[LAYER_LIMIT_LOW][c] = c < 6 ? 23 : 25;
		f->layers[LAYER_LIMIT_HIGH][c] = c < 6 ? 29.5 : 40;
	}
	draw(f, &p);
	assert_int_equal(pixels_of(&p, LEFT + 1, TOP + 35, LEFT + 60, TOP + 36, limit), 59);
	assert_int_equal(pixels_of(&p, LEFT + 61, TOP + 35, LEFT + 100, TOP + 36, limit), 0);
	assert_int_equal(pixels_of(&p, LEFT + 61, TOP + 25, LEFT + 100, TOP + 26, limit), 39);
	assert_int_equal(pixels_of(&p, LEFT, TOP + 25, LEFT + 59, TOP + 26, limit), 0);
	assert_int_equal(pixels_of(&p, LEFT + 60, TOP + 26, LEFT + 61, TOP + 35, limit), 9);
	assert_int_equal(pixels_of(&p, LEFT + 1, TOP + 2, LEFT + 60, TOP + 3, limit), 59);
	assert_int_equal(pixels_of(&p, LEFT + 61, TOP, LEFT + 100, TOP + 20, limit), 0);
	assert_int_equal(pixel_at(&p, LEFT + 60, TOP + 1), limit);
	pixels_free(&p);
}

static void nothing_is_drawn_beyond_the_edges(void **state)
{
	struct fixture *f = *state;
	struct pixels p;

	f->panel.low = 25; /* the reading falls below it */
	f->panel.window = (struct window){ 60, 540 };
	draw(f, &p);
	assert_int_equal(pixels_of(&p, 0, 0, LEFT, p.height, PAGE), LEFT * p.height);
	assert_int_equal(pixels_of(&p, LEFT + WIDTH, 0, p.width, p.height, PAGE), 10 * p.height);
	assert_int_equal(pixels_of(&p, 0, 0, p.width, TOP, PAGE), p.width * TOP);
	assert_int_equal(pixels_of(&p, 0, TOP + HEIGHT, p.width, p.height, PAGE), p.width * 10);
	pixels_free(&p);
}

/* Lowest and highest are lines, and between them and the mean is the ribbon. */
static void coarse_columns_have_hairlines_and_no_layers(void **state)
{
	struct fixture *f = *state;
	struct pixels p;

	for (size_t c = 0; c < COUNT; c++) {
		f->layers[LAYER_LEAST][c] -= 1;
		f->layers[LAYER_MOST][c] += 1;
	}
	f->curve.coarse = true;
	draw(f, &p);
	assert_int_equal(colour_at(&p, 1, 26.8), RIBBON);
	assert_int_equal(colour_at(&p, 1, 25.2), RIBBON);
	assert_true(colour_at(&p, 1, 27.5) != RIBBON);
	assert_true(colour_at(&p, 1, 24.5) != RIBBON);
	pixels_free(&p);
}

/* ---- SVG ------------------------------------------------------------------ */

static void an_svg_has_short_paths(void **state)
{
	struct fixture *f = *state;
	char *svg = draw_svg(f);

	/* The ribbon: along its top with the step, back along its base. */
	assert_non_null(strstr(svg, "<path d=\"m10 20h60v-5h40v25h-100z\" fill=\"#E6DECF\"/>"));
	assert_non_null(strstr(svg, "stroke=\"#1F1D1A\" stroke-width=\"1.4\""));
	assert_non_null(strstr(svg, "stroke-dasharray=\"0 5\""));
	assert_non_null(strstr(svg, "<clipPath id=\"clip0\"><rect x=\"10.00\" y=\"10.00\""));
	assert_null(strstr(svg, "image"));
	free(svg);
}

/* On so fine a scale the strayed area reaches a million pixels beyond the sheet. */
static void hatching_ends_with_the_sheet(void **state)
{
	struct fixture *f = *state;
	char *svg;

	f->panel.low = 22.9;
	f->panel.high = 22.9001;
	svg = draw_svg(f);
	assert_true(strlen(svg) < 20000);
	free(svg);
}

/* Relative steps are rounded, and yet end where the line does. */
static void rounding_does_not_add_up(void **state)
{
	struct fixture *f = *state;
	struct point points[3001];
	double sums[2] = { 0, 0 };
	char *trouble = NULL;
	size_t size, count = 0;

	for (size_t i = 0; i <= 3000; i++)
		points[i] = (struct point){ (double)i / 3, i % 2 ? 1 / 3.0 : 2 / 3.0 };
	sheet_polyline(&f->sheet, points, 3001, (struct stroke){ COLOUR_INK, 1, 1, 0, 0, false });

	char *svg = (char *)sheet_to_svg(&f->sheet, &size, &trouble);
	char *at = strstr(svg, "d=\"") + 3;

	while (*at != '"') {
		char *behind;

		at += *at == 'm' || *at == 'l';
		sums[count++ % 2] += strtod(at, &behind);
		assert_true(behind > at);
		at = behind;
	}
	assert_int_equal(count, 2 * 3001);
	assert_near(sums[0], 1000, 0.006);
	assert_near(sums[1], 2 / 3.0, 0.006);
	free(svg);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_PLOT(test) cmocka_unit_test_setup_teardown(test, begin, end)
		WITH_PLOT(places_have_their_colours),
		WITH_PLOT(a_band_steps_at_its_instant),
		WITH_PLOT(an_area_ends_where_the_reading_crosses),
		WITH_PLOT(beyond_the_limits_it_is_hatched),
		WITH_PLOT(hatching_follows_the_limits_of_then),
		WITH_PLOT(a_limit_steps_at_its_instant),
		WITH_PLOT(nothing_is_drawn_beyond_the_edges),
		WITH_PLOT(coarse_columns_have_hairlines_and_no_layers),
		WITH_PLOT(an_svg_has_short_paths),
		WITH_PLOT(hatching_ends_with_the_sheet),
		WITH_PLOT(rounding_does_not_add_up),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
