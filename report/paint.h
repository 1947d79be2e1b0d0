/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Between the two halves of drawing a graph: the sheet as a whole, and one
 * panel on it.
 */
#ifndef WARMSIDE_REPORT_PAINT_H
#define WARMSIDE_REPORT_PAINT_H

#include <stdbool.h>

#include "report/graph.h"
#include "report/sheet.h"

/* Where things of one panel lie on the sheet, in pixels. */
struct place_on {
	struct sheet *sheet;
	const struct graph *graph;
	const struct graph_panel *panel;
	double top, bottom, left, right; /* of the plot */
	double low, high;       /* values at bottom and top, in the keeper's units */
};

/* The column of the sheet at which an instant is drawn. */
double paint_x(const struct place_on *on, double instant);

/* Draws the i-th panel with all that is written on it, and says where it is.
 * False and one sentence (the caller frees it) when it cannot be drawn. */
bool paint_panel(const struct graph *graph, size_t i, bool svg, struct sheet *sheet,
		 struct place_on *on, char **trouble);

/* Fonts that both halves write in: second rank, and smallest. */
extern const struct font paint_quiet, paint_small;

#endif
