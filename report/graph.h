/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a graph of an enclosure shows and says: one panel a place and
 * quantity, what is drawn and written on each, and the finding above them.
 * Pure: everything it needs has been read already.
 */
#ifndef WARMSIDE_REPORT_GRAPH_H
#define WARMSIDE_REPORT_GRAPH_H

#include <stdbool.h>
#include <stddef.h>

#include "report/account.h"
#include "report/curve.h"
#include "report/timeaxis.h"

enum { GRAPH_WIDTH = 1200, PLOT_HEIGHT = 150 }; /* pixels, unless --size says otherwise */

/* What is drawn from. */
struct graph_input {
	const struct account *account;
	const struct alert_list *alerts; /* of the window */
	enum units units;
	bool wanted[PLACES];    /* the places to be drawn */
	int width, height;      /* pixels; 0 for the default */
	const struct range *scale[QUANTITIES]; /* the value axis in °C or %; NULL to plan it */
};

struct graph_panel {
	struct series series;
	struct totals totals;
	struct curve curve;
	bool has_extremes;
	struct extreme least, most;
	double low, high;       /* of the value axis, in the keeper's units */
	struct tick values[MOST_TICKS];
	size_t value_count;
	struct ribbon_ends wanted; /* points into the account */
	const struct alert_record **alerts; /* of this series, raised, worsened or cleared */
	size_t alert_count;
	const struct mistings *mistings; /* of a humidity, by reference; NULL for none */
};

struct graph {
	struct window window;
	enum units units;
	char *title;            /* "T3 · Third tub · corn snake · season brumation" */
	char *finding;          /* the worst of it in a sentence */
	int width, height;      /* of the sheet, pixels */
	int plot_width, plot_height;
	int strip_height;       /* above each plot, for alerts; 0 when there are none */
	struct tick times[MOST_TICKS];
	size_t time_count;
	struct graph_panel panels[MAX_SERIES];
	size_t count;
};

/* The layout's fixed measures, in pixels. */
enum {
	MARGIN_LEFT = 64, MARGIN_RIGHT = 96, HEAD_HEIGHT = 106,
	HEADING_HEIGHT = 25, STRIP_HEIGHT = 14, PANEL_GAP = 18, FOOT_HEIGHT = 66,
	LEAST_PLOT = 40,
	LABELLED_PLOT = 90,     /* from this height on a plot has labels inside */
};

/* False and one sentence (the caller frees it) when there is nothing to draw
 * or the size is too small for it. */
bool graph_plan(const struct graph_input *input, struct graph *out, char **trouble);
void graph_clear(struct graph *graph);

/* "wanted 45..60 % by day, 45..65 % by night; limits 25..85 %", as it is at the window's
 * end; where it moved "wanted 24..28 °C at the end, 28..32 °C at the beginning; limits ...",
 * and less of the beginning where there is less room; malloc'ed, the caller frees. */
enum wanted_words { WANTED_ALL, WANTED_BAND, WANTED_END, WANTED_WORDS };

char *panel_wanted(const struct graph_panel *panel, enum wanted_words words, enum units units);

/* Draws it; the bytes of a PNG or SVG file, malloc'ed, or NULL and a
 * sentence. */
unsigned char *graph_paint(const struct graph *graph, bool svg, size_t *size, char **trouble);

#endif
