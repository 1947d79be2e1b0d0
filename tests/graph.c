/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a graph plans to show, and the pictures that come out.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/graph.h"
#include "tests/archive_maker.h"
#include "tests/drawn.h"

enum { MINUTES = 1440 };

/* 2026-01-05T12:00+01:00, noon in the zone of these tests. */
static const double NOON = 1767610800;

/* A day by hand: the rows of the tiny enclosure, and what is planned from them. */
struct fixture {
	struct tiny tiny;
	struct record record;
	struct window window;
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
	f->record.series[0].series = (struct series){ WARM_SIDE, TEMPERATURE, false };
	f->record.series[1].series = (struct series){ COOL_SIDE, TEMPERATURE, false };
	f->record.series[2].series = (struct series){ COOL_SIDE, HUMIDITY, false };
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
	f->window = (struct window){ NOON, NOON + 86400 };
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
	const struct account_base base = { &f->tiny.conf, f->window, f->window.to, &bands,
					   &alerts };
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
			    "warm side temperature above its band for 1 h, highest 33.0 °C; "
			    "unknown for 1 h");
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

static void a_png_shows_colour_only_where_it_strayed(void **state)
{
	struct fixture *f = *state;
	struct pixels p;
	size_t size;
	unsigned char *png = paint(f, false, &size);

	/* Signature and the size in IHDR: RFC 2083. */
	assert_memory_equal(png, "\x89PNG\r\n\x1a\n", 8);
	assert_int_equal(png[16] << 24 | png[17] << 16 | png[18] << 8 | png[19], GRAPH_WIDTH);
	pixels_read(png, size, &p);
	assert_true(pixels_of_all(&p, 0x0072B2) > 3000);
	assert_true(pixels_of_all(&p, 0xD55E00) > 800);
	pixels_free(&p);
	free(png);
	for (size_t i = 0; i < 3; i++)
		for (size_t m = 0; m < MINUTES; m++) {
			struct row *row = &f->record.series[i].list[m];

			row->low = row->high = row->out = 0;
			row->value = row->min = row->max = i == 2 ? 50 : 28;
		}
	png = paint(f, false, &size);
	pixels_read(png, size, &p);
	assert_int_equal(pixels_of_all(&p, 0x0072B2), 0);
	assert_int_equal(pixels_of_all(&p, 0xD55E00), 0);
	pixels_free(&p);
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

/* ---- mistings, scales, limits --------------------------------------------- */

/* The SVG with the humidity misted that often, `apart` seconds from one
 * another, the first at 14:00. */
static char *paint_misted(struct fixture *f, size_t times, double apart)
{
	struct misting *list = must_calloc(times, sizeof *list);
	const struct mistings mistings = { list, times };
	struct graph graph;
	char *trouble = NULL;
	size_t size;

	for (size_t i = 0; i < times; i++)
		list[i] = (struct misting){ NOON + 7200 + apart * (double)i, 50, 60 };
	plan(f, &graph);
	graph.panels[0].mistings = &mistings; /* a temperature has none */
	graph.panels[2].mistings = &mistings;

	char *svg = (char *)graph_paint(&graph, true, &size, &trouble);

	assert_non_null(svg);
	graph_clear(&graph);
	free(list);
	return svg;
}

static size_t occurrences(const char *text, const char *part)
{
	size_t count = 0;

	while ((text = strstr(text, part))) {
		text += strlen(part);
		count++;
	}
	return count;
}

static const char DROP_CURVE[] = "a2.67 2.67 0 0 1";

static void mistings_are_marked_and_labelled(void **state)
{
	/* Two far apart; three 14 pixels from one to the next, of which the first is
	 * labelled to the left, the second to the right and the third not at all;
	 * and 70 that would overlap, every 3.5 pixels. */
	const struct {
		size_t times;
		double apart;   /* s */
		size_t least_drops, most_drops, labels;
	} cases[] = { { 2, 4 * 3600, 2, 2, 2 }, { 3, 1200, 3, 3, 2 }, { 70, 300, 20, 30, 0 } };

	for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
		char *svg = paint_misted(*state, cases[i].times, cases[i].apart);

		assert_in_range(occurrences(svg, DROP_CURVE), cases[i].least_drops,
				cases[i].most_drops);
		assert_int_equal(occurrences(svg, ">misted "), cases[i].labels);
		assert_non_null(strstr(svg, "Drop: misted."));
		assert_true(i > 0 || strstr(svg, ">misted 18:00</text>"));
		free(svg);
	}
}

static void coarse_columns_show_no_misting(void **state)
{
	struct fixture *f = *state;

	f->window.to = NOON + 40 * 86400.0;
	char *svg = paint_misted(f, 2, 4 * 3600);

	assert_int_equal(occurrences(svg, DROP_CURVE), 0);
	assert_null(strstr(svg, "misted"));
	free(svg);
}

static void a_scale_is_taken_as_it_is(void **state)
{
	struct fixture *f = *state;
	const struct range degrees = { 20, 35 }, percent = { 40, 90 };
	struct graph graph;

	f->input.scale[TEMPERATURE] = &degrees;
	f->input.scale[HUMIDITY] = &percent;
	f->input.units = FAHRENHEIT;
	plan(f, &graph);
	assert_near(graph.panels[0].low, 68, 1e-9);
	assert_near(graph.panels[1].high, 95, 1e-9);
	assert_near(graph.panels[2].low, 40, 0);
	assert_near(graph.panels[2].high, 90, 0);
	graph_clear(&graph);

	size_t size;
	unsigned char *svg = paint(f, true, &size);

	/* The lowest is told though the axis does not reach it. */
	assert_non_null(strstr((const char *)svg, ">lowest 38 %, 06:00</text>"));
	assert_non_null(strstr((const char *)svg, ">90 %</text>"));
	free(svg);
}

/* No band, but limits: they are what is wanted, and seen however far. */
static void limits_without_a_band_are_shown(void **state)
{
	struct fixture *f = *state;
	size_t size;

	struct rule *rule = &f->tiny.enclosures[0].places[WARM_SIDE].rules[TEMPERATURE];

	rule->has_band = false;
	rule->limits = (struct range){ 5, 50 };

	unsigned char *svg = paint(f, true, &size);
	const char *text = (const char *)svg;

	assert_non_null(strstr(text, ">no band is set; limits 5..50 °C</text>"));
	assert_non_null(strstr(text, ">limit 5 °C</text>"));
	assert_non_null(strstr(text, ">limit 50 °C</text>"));
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
		WITH_DAY(mistings_are_marked_and_labelled),
		WITH_DAY(coarse_columns_show_no_misting),
		WITH_DAY(a_scale_is_taken_as_it_is),
		WITH_DAY(limits_without_a_band_are_shown),
		WITH_DAY(an_enclosure_of_which_nothing_is_known),
	};

	setenv("TZ", "Europe/Berlin", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
