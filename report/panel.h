/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One panel of a graph: the plot of one series, without any text, as marks
 * on a sheet.  What is written on it is for whoever asks.  Pure.
 */
#ifndef WARMSIDE_REPORT_PANEL_H
#define WARMSIDE_REPORT_PANEL_H

#include <stdbool.h>
#include <stddef.h>

#include "report/curve.h"
#include "report/sheet.h"
#include "report/timeaxis.h"
#include "report/window.h"

struct panel {
	const struct curve *curve;
	struct window window;
	double left, top, width, height; /* where on the sheet, pixels */
	double low, high;       /* of the value axis, in the keeper's units; low < high */
	const struct tick *values, *times; /* hairlines of the grid */
	size_t value_count, time_count;
};

/* Colours shared with what the sheet writes beside the panels. */
#define COLOUR_PAGE "FBF8F2"    /* warm off-white */
#define COLOUR_INK "1F1D1A"
#define COLOUR_QUIET "6E685C"   /* second-rank text */
#define COLOUR_RIBBON "E6DECF"  /* grey-beige */
#define COLOUR_BELOW "0072B2"   /* Okabe and Ito's blue and vermilion (Color Universal */
#define COLOUR_ABOVE "D55E00"   /* Design, 2008; from memory) */
#define COLOUR_LIMIT "8A8274"

/* Where on the sheet an instant and a value lie; beyond the plot when they
 * are outside window and axis. */
double panel_x(const struct panel *panel, double instant);
double panel_y(const struct panel *panel, double value);

/* Adds the plot's marks, cut off at its edges. */
void panel_draw(const struct panel *panel, struct sheet *sheet);

#endif
