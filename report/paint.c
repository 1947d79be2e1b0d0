/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A planned graph -> its sheet: head, panels and foot; see graph.h.
 */
#include "report/paint.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"

static const struct font TITLE = { .size = 21, .bold = true, .colour = COLOUR_INK };
static const struct font FOOTNOTE = { .size = 9.5, .colour = COLOUR_QUIET };
static const struct font FINDING = { .size = 15, .colour = COLOUR_INK };

enum {
	TITLE_BASE = 36, FINDING_BASE = 62, /* px from the top */
	FINDING_LINES = 2, FINDING_STEP = 20, PAGE_EDGE = 24, /* px */
	NARROW_SHEET = 760,     /* px: below this the window is written under the title */
	LEAST_TITLE = 14,       /* px: a title is not made smaller than that */
	FOOT_LINES = 2, FOOT_STEP = 12, /* px */
	DAY_COLUMN = 86400,     /* s */
};

static bool fits(const char *text, size_t length, double width)
{
	char *part = must_print("%.*s", (int)length, text);
	double needed = sheet_text_width(FINDING, part);

	free(part);
	return needed <= width;
}

/* How much of a text goes on a line: all of it, or up to the last matter's
 * end that fits, or up to the last blank. */
static size_t fitting(const char *text, double width)
{
	size_t length = strcspn(text, " "), best = length, matter = 0;

	while (fits(text, length, width)) {
		best = length;
		if (text[length - 1] == ';')
			matter = length;
		if (!text[length])
			return length;
		length += 1 + strcspn(text + length + 1, " ");
	}
	return matter ? matter : best;
}

/* The finding in as many lines as there is room for. */
static void paint_finding(struct sheet *sheet, const struct graph *graph)
{
	const char *text = graph->finding;
	double width = graph->width - MARGIN_LEFT - PAGE_EDGE;

	for (int line = 0; line < FINDING_LINES && *text; line++) {
		size_t length = fitting(text, width);
		bool cut = line + 1 == FINDING_LINES && text[length];
		char *part = must_print("%.*s%s", (int)length, text, cut ? " …" : "");

		sheet_text(sheet, MARGIN_LEFT, FINDING_BASE + line * FINDING_STEP, AT_START, FINDING,
			   part);
		free(part);
		text += length + strspn(text + length, " ");
	}
}

/* Smaller, and then cut, until it fits. */
static void paint_title(struct sheet *sheet, const char *title, double width)
{
	struct font font = TITLE;
	char *text = must_copy(title);
	size_t length = strlen(text);
	double needed = sheet_text_width(font, text);

	if (needed > width)
		font.size = fmax(LEAST_TITLE, floor(font.size * width / needed));
	while (length > 0 && sheet_text_width(font, text) > width) {
		char *shorter;

		/* Whole characters of UTF-8. */
		do
			length--;
		while (length > 0 && (title[length] & 0xc0) == 0x80);
		shorter = must_print("%.*s…", (int)length, title);
		free(text);
		text = shorter;
	}
	sheet_text(sheet, MARGIN_LEFT, TITLE_BASE, AT_START, font, text);
	free(text);
}

static void paint_head(struct sheet *sheet, const struct graph *graph)
{
	char from[MEASURE_TEXT], to[MEASURE_TEXT];
	char *window = must_print("%s to %s", show_instant_local(graph->window.from, from),
				  show_instant_local(graph->window.to, to));
	double title_width = graph->width - MARGIN_LEFT - PAGE_EDGE;

	if (graph->width >= NARROW_SHEET) {
		sheet_text(sheet, graph->width - MARGIN_RIGHT, TITLE_BASE, AT_END, paint_quiet, window);
		title_width = graph->width - MARGIN_LEFT - MARGIN_RIGHT - PAGE_EDGE -
			      sheet_text_width(paint_quiet, window);
	} else {
		sheet_text(sheet, MARGIN_LEFT, HEAD_HEIGHT - 6, AT_START, paint_small, window);
	}
	paint_title(sheet, graph->title, title_width);
	paint_finding(sheet, graph);
	free(window);
}

/* ---- the foot ------------------------------------------------------------- */

static bool has_layer(const struct graph *graph, enum layer layer)
{
	for (size_t i = 0; i < graph->count; i++) {
		size_t begin = 0, end;

		if (curve_run(&graph->panels[i].curve, layer, &begin, &end))
			return true;
	}
	return false;
}

/* Whether anything is hatched: out of a band, and of limits. */
static bool has_unsafe(const struct graph *graph)
{
	for (size_t i = 0; i < graph->count; i++)
		if (curve_ever_beyond(&graph->panels[i].curve))
			return true;
	return false;
}

static bool has_mistings(const struct graph *graph)
{
	for (size_t i = 0; i < graph->count; i++)
		if (paint_shows_mistings(&graph->panels[i]))
			return true;
	return false;
}

static char *what_the_line_is(const struct curve *curve)
{
	char each[MEASURE_TEXT];

	if (!curve->coarse)
		return must_copy("Line: the reading.");
	if (curve->step == DAY_COLUMN)
		return must_copy("Line: daily means, hairlines: lowest and highest minute.");
	return must_print("Line: means of %s, hairlines: lowest and highest minute.",
			  show_duration(curve->step, each));
}

/* What the signs mean, in sentences rather than in a key; of signs that are
 * there, as many as there is room for. */
static void paint_caption(struct sheet *sheet, const struct graph *graph)
{
	char *line_is = what_the_line_is(&graph->panels[0].curve);
	const struct {
		bool there;
		const char *text;
	} sentences[] = {
		{ has_layer(graph, LAYER_LINE), line_is },
		{ has_layer(graph, LAYER_BAND_LOW), "Ribbon: the range wanted then." },
		{ has_unsafe(graph), "Hatched: beyond the limits." },
		{ has_layer(graph, LAYER_UNKNOWN), "Dotted: unknown." },
		{ has_mistings(graph), "Drop: misted." },
		{ has_layer(graph, LAYER_NIGHT), "Shaded: night." },
	};
	bool narrow = graph->width < NARROW_SHEET;
	struct font font = narrow ? FOOTNOTE : paint_small;
	double left = narrow ? SHEET_EDGE : MARGIN_LEFT;
	char *lines[FOOT_LINES] = { must_copy("") };
	int last = 0;

	for (size_t i = 0; i < sizeof sentences / sizeof *sentences; i++) {
		if (!sentences[i].there)
			continue;
		char *longer = must_print("%s%s%s", lines[last], *lines[last] ? " " : "",
					  sentences[i].text);

		if (left + sheet_text_width(font, longer) <= graph->width - SHEET_EDGE) {
			free(lines[last]);
			lines[last] = longer;
			continue;
		}
		free(longer);
		if (last + 1 < FOOT_LINES)
			lines[++last] = must_copy(sentences[i].text);
	}
	for (int i = 0; i <= last; i++) {
		sheet_text(sheet, left, graph->height - 9 - (last - i) * FOOT_STEP, AT_START, font,
			   lines[i]);
		free(lines[i]);
	}
	free(line_is);
}

static void paint_foot(struct sheet *sheet, const struct graph *graph, const struct place_on *on)
{
	for (size_t i = 0; i < graph->time_count; i++) {
		const struct tick *tick = &graph->times[i];
		double x = panel_x(&on->plot, tick->at);

		if (x + sheet_text_width(paint_quiet, tick->label) / 2 > graph->width)
			continue;
		sheet_text(sheet, x, on->bottom + 18, AT_MIDDLE, paint_quiet, tick->label);
		if (tick->below[0] && x + sheet_text_width(paint_quiet, tick->below) / 2 < graph->width)
			sheet_text(sheet, x, on->bottom + 34, AT_MIDDLE, paint_quiet, tick->below);
	}
	paint_caption(sheet, graph);
}

unsigned char *graph_paint(const struct graph *graph, bool svg, size_t *size, char **trouble)
{
	struct sheet sheet;
	struct place_on on = { 0 };
	unsigned char *bytes;

	sheet_begin(&sheet, graph->width, graph->height, COLOUR_PAGE);
	sheet.title = must_copy(graph->title);
	sheet.description = must_copy(graph->finding);
	paint_head(&sheet, graph);
	for (size_t i = 0; i < graph->count; i++)
		paint_panel(graph, i, &sheet, &on);
	paint_foot(&sheet, graph, &on);
	bytes = svg ? sheet_to_svg(&sheet, size, trouble) : sheet_to_png(&sheet, size, trouble);
	sheet_clear(&sheet);
	return bytes;
}
