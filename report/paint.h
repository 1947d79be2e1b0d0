/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Between the parts of drawing a graph: the sheet as a whole, one panel on
 * it, and the strip above that.
 */
#ifndef WARMSIDE_REPORT_PAINT_H
#define WARMSIDE_REPORT_PAINT_H

#include <stdbool.h>
#include <stddef.h>

#include "report/graph.h"
#include "report/panel.h"
#include "report/sheet.h"

/* Where a text stands, in pixels. */
struct box {
	double left, top, right, bottom;
};

enum {
	MOST_LABELS = 8,
	SHEET_EDGE = 12,        /* px along the sheet's edge that nothing is written on */
};

/* One panel being painted. */
struct place_on {
	struct sheet *sheet;
	const struct graph *graph;
	const struct graph_panel *panel;
	struct panel plot;
	double right, bottom;   /* of the plot, in pixels */
	struct box labels[MOST_LABELS]; /* upon the plot */
	size_t label_count;
};

/* Draws the i-th panel with all that is written on it, and says where it is. */
void paint_panel(const struct graph *graph, size_t i, struct sheet *sheet, struct place_on *on);

/* What stands above a plot: its alerts, and the mistings of a humidity. */
void paint_strip(const struct place_on *on);

/* Whether its mistings are shown: in columns of more than half an hour they
 * would not be where they were. */
bool paint_shows_mistings(const struct graph_panel *panel);

/* Fonts that several parts write in: second rank, and smallest. */
extern const struct font paint_quiet, paint_small;

#endif
