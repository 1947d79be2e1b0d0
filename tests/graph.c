/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a graph plans to show, and the pictures that come out.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <stdlib.h>

#include <cairo.h>

#include "conf/memory.h"
#include "report/graph.h"
#include "tests/archive_maker.h"

enum { MINUTES = 1440 };

/* 2026-01-05T12:00+01:00, noon in the zone of these tests. */
static const double NOON = 1767610800;

/* A day by hand: the rows of the tiny enclosure, and what is planned from them. */
struct fixture {
	struct tiny tiny;
	struct record record;
	struct account account; /* of a copy of the record */
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
	}
	f->alerts[0] = (struct alert_record){
		.time = NOON + 1200 * 60, .event = RAISED, .enclosure = "T3", .has_place = true,
		.place = COOL_SIDE, .has_quantity = true, .quantity = HUMIDITY };
	f->alerts[1] = f->alerts[0];
	f->alerts[1].event = REMINDED; /* not marked */
	f->alerts[2] = f->alerts[0];
	f->alerts[2].enclosure[1] = '4'; /* somebody else's */
	f->list = (struct alert_list){ f->alerts, 3 };
	f->input = (struct graph_input){
		.account = &f->account, .alerts = &f->list, .units = CELSIUS,
	};
	for (int place = 0; place < PLACES; place++)
		f->input.wanted[place] = true;
	*state = f;
	return 0;
}

static int end(void **state)
{
	struct fixture *f = *state;

	account_clear(&f->account);
	record_clear(&f->record);
	tiny_end(&f->tiny);
	free(f);
	return 0;
}

/* The account of the record as it is now. */
static void reckon(struct fixture *f)
{
	const struct band_list bands = { 0 };
	const struct alerts alerts = { 0 };
	const struct account_base base = { &f->tiny.conf, { NOON, NOON + 86400 }, NOON + 86400,
					   &bands, &alerts };
	struct record copy = f->record;

	for (size_t i = 0; i < copy.count; i++) {
		struct series_rows *rows = &copy.series[i];

		rows->list = must_calloc(rows->count, sizeof *rows->list);
		memcpy(rows->list, f->record.series[i].list, rows->count * sizeof *rows->list);
	}
	account_clear(&f->account);
	account_reckon(&base, &f->tiny.enclosures[0], copy, &f->account);
}

static void plan(struct fixture *f, struct graph *graph)
{
	char *trouble = NULL;

	reckon(f);

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
	reckon(f);
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
	reckon(f);
	assert_false(graph_plan(&f->input, &graph, &trouble));
	assert_non_null(strstr(trouble, "height of at least"));
	free(trouble);
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
			memcpy(open[depth++], name, sizeof name);
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
		size_t length = strcspn(at + 5, "\"") + 1; /* the quotes are part of it */
		char *identifier = must_print("%.*s", (int)length, at + 5);

		assert_null(strstr(at + 6, identifier));
		free(identifier);
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
		WITH_DAY(a_png_shows_colour_only_where_it_strayed),
		WITH_DAY(the_size_is_what_was_asked),
		WITH_DAY(an_svg_is_well_formed_and_its_text_is_text),
		WITH_DAY(an_enclosure_of_which_nothing_is_known),
	};

	setenv("TZ", "Europe/Berlin", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
