/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A planned graph -> its sheet: head, panels and foot; see graph.h.
 */
#include "report/paint.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/panel.h"

static const struct font TITLE = { 21, true, COLOUR_INK };
static const struct font FINDING = { 15, false, COLOUR_INK };

enum {
	TITLE_BASE = 36, FINDING_BASE = 62, /* px from the top */
	FINDING_LINES = 2, FINDING_STEP = 20, PAGE_EDGE = 24, /* px */
	NARROW_SHEET = 760,     /* px: below this the window is written under the title */
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

static void paint_head(struct sheet *sheet, const struct graph *graph)
{
	char from[MEASURE_TEXT], to[MEASURE_TEXT];
	char *window = must_print("%s to %s", show_instant_local(graph->window.from, from),
				  show_instant_local(graph->window.to, to));

	sheet_text(sheet, MARGIN_LEFT, TITLE_BASE, AT_START, TITLE, graph->title);
	if (graph->width >= NARROW_SHEET)
		sheet_text(sheet, graph->width - MARGIN_RIGHT, TITLE_BASE, AT_END, paint_quiet, window);
	else
		sheet_text(sheet, MARGIN_LEFT, HEAD_HEIGHT - 6, AT_START, paint_small, window);
	paint_finding(sheet, graph);
	free(window);
}

/* What the signs mean, in a sentence rather than in a key. */
static char *caption(const struct graph *graph)
{
	const struct curve *curve = &graph->panels[0].curve;
	char each[MEASURE_TEXT];
	char *line;

	if (!curve->coarse)
		line = must_copy("Line: the reading.");
	else if (curve->step == DAY_COLUMN)
		line = must_copy("Line: daily means, hairlines: the lowest and highest minute of "
				 "each day.");
	else
		line = must_print("Line: means of %s, hairlines: the lowest and highest minute in "
				  "them.", show_duration(curve->step, each));
	char *text = must_print("%s Ribbon: the range wanted then.%s Dotted: unknown.", line,
				curve->nights ? " Shaded: night." : "");

	free(line);
	return text;
}

static void paint_foot(struct sheet *sheet, const struct graph *graph, const struct place_on *on)
{
	char *text = caption(graph);

	for (size_t i = 0; i < graph->time_count; i++) {
		const struct tick *tick = &graph->times[i];
		double x = paint_x(on, tick->at);

		if (x + sheet_text_width(paint_quiet, tick->label) / 2 > graph->width)
			continue;
		sheet_text(sheet, x, on->bottom + 18, AT_MIDDLE, paint_quiet, tick->label);
		if (tick->below[0] && x + sheet_text_width(paint_quiet, tick->below) / 2 < graph->width)
			sheet_text(sheet, x, on->bottom + 34, AT_MIDDLE, paint_quiet, tick->below);
	}
	sheet_text(sheet, MARGIN_LEFT, graph->height - 12, AT_START, paint_small, text);
	free(text);
}

unsigned char *graph_paint(const struct graph *graph, bool svg, size_t *size, char **trouble)
{
	struct sheet sheet;
	struct place_on on = { 0 };
	unsigned char *bytes = NULL;
	bool good = true;

	sheet_begin(&sheet, graph->width, graph->height, COLOUR_PAGE);
	sheet.title = must_copy(graph->title);
	sheet.description = must_copy(graph->finding);
	paint_head(&sheet, graph);
	for (size_t i = 0; good && i < graph->count; i++)
		good = paint_panel(graph, i, svg, &sheet, &on, trouble);
	if (good) {
		paint_foot(&sheet, graph, &on);
		bytes = svg ? sheet_to_svg(&sheet, size, trouble)
			    : sheet_to_png(&sheet, size, trouble);
	}
	sheet_clear(&sheet);
	return bytes;
}
