/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a graph plans to show, what librrd is asked for, and the pictures that
 * come out.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <stdlib.h>

#include <cairo.h>

#include "conf/memory.h"
#include "report/graph.h"
#include "report/panel.h"
#include "tests/archive_maker.h"

enum { MINUTES = 1440 };

/* 2026-01-05T12:00+01:00, noon in the zone of these tests. */
static const double NOON = 1767610800;

/* A day by hand: the rows of the tiny enclosure, its ribbons, and what is
 * planned from them. */
struct fixture {
	struct tiny tiny;
	struct record record;
	struct ribbon ribbons[MAX_SERIES];
	struct alert_record alerts[3];
	struct alert_list list;
	struct graph_input input;
};

/* Minute i of the day: the cool side's humidity falls to 38 % in the last
 * quarter, the warm side is too warm for an hour, an hour is unknown. */
static struct row row_at(size_t series, size_t i)
{
	struct row row = { .from = NOON + 60.0 * (double)i, .to = NOON + 60.0 * (double)i + 60,
			   .ok = 60, .has_value = true, .value = series == 2 ? 55 : 28 };

	if (i >= 300 && i < 360)
		row = (struct row){ .from = row.from, .to = row.to };
	else if (series == 2 && i >= 1080)
		row.value = 38, row.low = 60, row.out = 420;
	else if (series == 0 && i >= 600 && i < 660)
		row.value = 33, row.high = 60, row.out = 240;
	row.min = row.max = row.value;
	return row;
}

static int begin(void **state)
{
	struct fixture *f = must_calloc(1, sizeof *f);

	tiny_begin(&f->tiny);
	f->record.count = enclosure_series(&f->tiny.conf, &f->tiny.enclosures[0],
					   (struct series[MAX_SERIES]){ 0 });
	f->record.series[0].series = (struct series){ WARM_SIDE, TEMPERATURE };
	f->record.series[1].series = (struct series){ COOL_SIDE, TEMPERATURE };
	f->record.series[2].series = (struct series){ COOL_SIDE, HUMIDITY };
	for (size_t i = 0; i < 3; i++) {
		struct series_rows *rows = &f->record.series[i];

		rows->count = MINUTES;
		rows->list = must_calloc(MINUTES, sizeof *rows->list);
		for (size_t m = 0; m < MINUTES; m++)
			rows->list[m] = row_at(i, m);
		ribbon_load(&f->tiny.conf, &f->tiny.enclosures[0], rows->series, &f->ribbons[i]);
	}
	f->alerts[0] = (struct alert_record){
		.time = NOON + 1200 * 60, .event = RAISED, .enclosure = "T3", .has_place = true,
		.place = COOL_SIDE, .has_quantity = true, .quantity = HUMIDITY };
	f->alerts[1] = f->alerts[0];
	f->alerts[1].event = REMINDED; /* not marked */
	f->alerts[2] = f->alerts[0];
	strcpy(f->alerts[2].enclosure, "T4"); /* somebody else's */
	f->list = (struct alert_list){ f->alerts, 3 };
	f->input = (struct graph_input){
		.conf = &f->tiny.conf, .enclosure = &f->tiny.enclosures[0],
		.window = { NOON, NOON + 86400 }, .record = &f->record, .ribbons = f->ribbons,
		.alerts = &f->list,
	};
	for (int place = 0; place < PLACES; place++)
		f->input.wanted[place] = true;
	*state = f;
	return 0;
}

static int end(void **state)
{
	struct fixture *f = *state;

	for (size_t i = 0; i < 3; i++)
		ribbon_clear(&f->ribbons[i]);
	record_clear(&f->record);
	tiny_end(&f->tiny);
	free(f);
	return 0;
}

static void plan(struct fixture *f, struct graph *graph)
{
	char *trouble = NULL;

	if (!graph_plan(&f->input, graph, &trouble))
		fail_msg("%s", trouble);
}

static void the_plan_says_what_was_wrong(void **state)
{
	struct fixture *f = *state;
	struct graph graph;

	plan(f, &graph);
	assert_string_equal(graph.title, "T3 · Third tub · corn snake");
	assert_string_equal(graph.finding,
			    "Cool side humidity below its band for 6 h, lowest 38 %; "
			    "warm side temperature above its band for 1 h, highest 33.0 °C");
	assert_int_equal(graph.count, 3);
	assert_int_equal(graph.panels[2].alert_count, 1);
	assert_int_equal(graph.panels[0].alert_count, 0);
	/* The axis holds the readings, the band and the limit near by. */
	assert_true(graph.panels[0].low < 23 && graph.panels[0].high > 36);
	assert_true(graph.panels[2].low < 38 && graph.panels[2].high > 65);
	graph_clear(&graph);
}

static void only_the_wanted_places(void **state)
{
	struct fixture *f = *state;
	struct graph graph;
	char *trouble = NULL;

	f->input.wanted[COOL_SIDE] = false;
	plan(f, &graph);
	assert_int_equal(graph.count, 1);
	graph_clear(&graph);
	f->input.wanted[WARM_SIDE] = false;
	assert_false(graph_plan(&f->input, &graph, &trouble));
	assert_non_null(strstr(trouble, "no probe"));
	free(trouble);
}

static void too_small_a_sheet_is_refused(void **state)
{
	struct fixture *f = *state;
	struct graph graph;
	char *trouble = NULL;

	f->input.width = f->input.height = 300;
	assert_false(graph_plan(&f->input, &graph, &trouble));
	assert_non_null(strstr(trouble, "height of at least"));
	free(trouble);
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
	curve_make(&f->record.series[2], &f->ribbons[2], f->input.window, 1440, CELSIUS, &curve);
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

static void degrees_fahrenheit_before_it_is_drawn(void **state)
{
	struct fixture *f = *state;
	struct curve curve;

	curve_make(&f->record.series[0], &f->ribbons[0], f->input.window, 1440, FAHRENHEIT, &curve);
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

	curve_make(&f->record.series[0], &f->ribbons[0], month, 300, CELSIUS, &curve);
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
	struct series series = { COOL_SIDE, HUMIDITY };
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
	ribbon_load(&f->tiny.conf, &f->tiny.enclosures[0], series, &ribbon);
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

/* ---- what librrd is asked for --------------------------------------------- */

static bool has(const struct arguments *arguments, const char *wanted)
{
	for (size_t i = 0; i < arguments->count; i++)
		if (strcmp(arguments->list[i], wanted) == 0)
			return true;
	return false;
}

static void librrd_is_asked_for_the_bare_picture(void **state)
{
	struct fixture *f = *state;
	struct curve curve;
	struct arguments arguments;
	const double alert = NOON + 7200;

	curve_make(&f->record.series[2], &f->ribbons[2], f->input.window, 1000, CELSIUS, &curve);

	struct panel panel = { .curve = &curve, .window = f->input.window, .width = 1000,
			       .height = 150, .low = 20, .high = 90, .limits = { 25, 85 },
			       .limit_count = 2, .alerts = &alert, .alert_count = 1, .svg = true };

	panel_arguments(&panel, &arguments);
	assert_true(has(&arguments, "--imgformat=SVG"));
	assert_true(has(&arguments, "--only-graph"));
	assert_true(has(&arguments, "--disable-rrdtool-tag"));
	assert_true(has(&arguments, "--border=0"));
	assert_true(has(&arguments, "--start=1767610800"));
	assert_true(has(&arguments, "--end=1767697200"));
	assert_true(has(&arguments, "--step=87"));
	assert_true(has(&arguments, "--color=ARROW#00000000"));
	assert_true(has(&arguments, "DEF:line=cb//panel:line:AVERAGE"));
	assert_true(has(&arguments, "AREA:under_from_span#0072B2::STACK"));
	assert_true(has(&arguments, "AREA:over_from_span#D55E00::STACK"));
	assert_true(has(&arguments, "HRULE:25#8A8274"));
	assert_true(has(&arguments, "VRULE:1767618000#1F1D1AB0::dashes=2,3"));
	for (size_t i = 0; i < arguments.count; i++) {
		const char *a = arguments.list[i];

		/* No legend, no printed values, no title. */
		assert_null(strstr(a, "PRINT"));
		assert_null(strstr(a, "COMMENT"));
		assert_null(strstr(a, "--title"));
		assert_null(strstr(a, "least")
				    ? strstr(a, "LINE") /* hairlines are for coarse columns */
				    : NULL);
	}
	arguments_clear(&arguments);
	curve_clear(&curve);
}

/* ---- pictures ------------------------------------------------------------- */

static unsigned char *paint(struct fixture *f, bool svg, size_t *size)
{
	struct graph graph;
	char *trouble = NULL;

	plan(f, &graph);

	unsigned char *bytes = graph_paint(&graph, svg, size, &trouble);

	if (!bytes)
		fail_msg("%s", trouble);
	graph_clear(&graph);
	return bytes;
}

struct reader {
	const unsigned char *at;
	size_t left;
};

static cairo_status_t read_some(void *closure, unsigned char *data, unsigned length)
{
	struct reader *reader = closure;

	if (length > reader->left)
		return CAIRO_STATUS_READ_ERROR;
	memcpy(data, reader->at, length);
	reader->at += length;
	reader->left -= length;
	return CAIRO_STATUS_SUCCESS;
}

/* Pixels of exactly that colour. */
static size_t pixels_of(const unsigned char *png, size_t size, uint32_t colour)
{
	struct reader reader = { png, size };
	cairo_surface_t *surface = cairo_image_surface_create_from_png_stream(read_some, &reader);
	size_t count = 0;

	assert_int_equal(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS);
	for (int y = 0; y < cairo_image_surface_get_height(surface); y++) {
		const uint32_t *row = (const uint32_t *)(const void *)(
			cairo_image_surface_get_data(surface) +
			y * cairo_image_surface_get_stride(surface));

		for (int x = 0; x < cairo_image_surface_get_width(surface); x++)
			count += (row[x] & 0xffffff) == colour;
	}
	cairo_surface_destroy(surface);
	return count;
}

static void a_png_shows_colour_only_where_it_strayed(void **state)
{
	struct fixture *f = *state;
	size_t size;
	unsigned char *png = paint(f, false, &size);

	/* Signature and the size in IHDR: RFC 2083. */
	assert_memory_equal(png, "\x89PNG\r\n\x1a\n", 8);
	assert_int_equal(png[16] << 24 | png[17] << 16 | png[18] << 8 | png[19], GRAPH_WIDTH);
	assert_true(pixels_of(png, size, 0x0072B2) > 3000);
	assert_true(pixels_of(png, size, 0xD55E00) > 800);
	free(png);
	for (size_t i = 0; i < 3; i++)
		for (size_t m = 0; m < MINUTES; m++) {
			struct row *row = &f->record.series[i].list[m];

			row->low = row->high = row->out = 0;
			row->value = row->min = row->max = i == 2 ? 50 : 28;
		}
	png = paint(f, false, &size);
	assert_int_equal(pixels_of(png, size, 0x0072B2), 0);
	assert_int_equal(pixels_of(png, size, 0xD55E00), 0);
	free(png);
}

static void the_size_is_what_was_asked(void **state)
{
	struct fixture *f = *state;
	size_t size;

	f->input.width = 801;
	f->input.height = 603;

	unsigned char *png = paint(f, false, &size);

	assert_int_equal(png[18] << 8 | png[19], 801);
	assert_int_equal(png[22] << 8 | png[23], 603);
	free(png);
}

/* Every tag closed in its turn; no stray < or & in a text. */
static void assert_well_formed(const char *text)
{
	char open[32][32];
	int depth = 0;

	for (const char *at = strchr(text, '<'); at; at = strchr(at + 1, '<')) {
		const char *close = strpbrk(at + 1, "<>");
		char name[32] = "";

		assert_true(close && *close == '>');
		if (at[1] == '?' || at[1] == '!')
			continue;
		sscanf(at + 1, "%30[/a-zA-Z]", name);
		if (name[0] == '/') {
			assert_true(depth > 0);
			assert_string_equal(open[--depth], name + 1);
		} else if (close[-1] != '/') {
			assert_true(depth < 32);
			strcpy(open[depth++], name);
		}
	}
	assert_int_equal(depth, 0);
	for (const char *at = strchr(text, '&'); at; at = strchr(at + 1, '&'))
		assert_true(strncmp(at, "&amp;", 5) == 0 || strncmp(at, "&lt;", 4) == 0 ||
			    strncmp(at, "&gt;", 4) == 0 || strncmp(at, "&quot;", 6) == 0);
}

static void assert_identifiers_differ(const char *text)
{
	for (const char *at = strstr(text, " id=\""); at; at = strstr(at + 1, " id=\"")) {
		char identifier[60];

		assert_int_equal(sscanf(at, " id=\"%50[^\"]\"", identifier), 1);
		strcat(identifier, "\"");
		assert_null(strstr(at + 6, identifier));
	}
}

static void an_svg_is_well_formed_and_its_text_is_text(void **state)
{
	struct fixture *f = *state;
	size_t size;

	f->tiny.enclosures[0].label = (char[]){ "A & <B> \"C\"" };

	unsigned char *svg = paint(f, true, &size);
	const char *text = (const char *)svg;

	assert_int_equal(strlen(text), size);
	assert_well_formed(text);
	assert_identifiers_differ(text);
	assert_non_null(strstr(text, "T3 · A &amp; &lt;B&gt; &quot;C&quot; · corn snake</text>"));
	assert_non_null(strstr(text, ">cool side humidity</text>"));
	assert_non_null(strstr(text, ">below 6 h</text>"));
	assert_non_null(strstr(text, ">lowest 38 %, 06:00</text>"));
	assert_non_null(strstr(text, ">alert 08:00</text>"));
	assert_non_null(strstr(text, ">limit 36 °C</text>"));
	assert_null(strstr(text, "glyph"));
	assert_null(strstr(text, "RRD"));
	assert_null(strstr(text, "rrd"));
	free(svg);
}

static void an_enclosure_of_which_nothing_is_known(void **state)
{
	struct fixture *f = *state;
	struct graph graph;
	size_t size;

	for (size_t i = 0; i < 3; i++)
		f->record.series[i].count = 0;
	plan(f, &graph);
	assert_string_equal(graph.finding, "Nothing is known of this time");
	graph_clear(&graph);

	unsigned char *svg = paint(f, true, &size);

	assert_well_formed((const char *)svg);
	assert_non_null(strstr((const char *)svg, "no reading in this time"));
	free(svg);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_DAY(test) cmocka_unit_test_setup_teardown(test, begin, end)
		WITH_DAY(the_plan_says_what_was_wrong),
		WITH_DAY(only_the_wanted_places),
		WITH_DAY(too_small_a_sheet_is_refused),
		WITH_DAY(each_layer_is_where_it_belongs),
		WITH_DAY(degrees_fahrenheit_before_it_is_drawn),
		WITH_DAY(coarse_columns_keep_their_extremes),
		WITH_DAY(past_bands_are_drawn_from_their_log),
		WITH_DAY(librrd_is_asked_for_the_bare_picture),
		WITH_DAY(a_png_shows_colour_only_where_it_strayed),
		WITH_DAY(the_size_is_what_was_asked),
		WITH_DAY(an_svg_is_well_formed_and_its_text_is_text),
		WITH_DAY(an_enclosure_of_which_nothing_is_known),
	};

	setenv("TZ", "Europe/Berlin", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
