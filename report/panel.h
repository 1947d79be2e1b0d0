/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One panel of a graph: the bare picture of one series, without any text,
 * drawn by librrd from our own columns.  What is written on it is the
 * sheet's.
 */
#ifndef WARMSIDE_REPORT_PANEL_H
#define WARMSIDE_REPORT_PANEL_H

#include <stdbool.h>
#include <stddef.h>

#include "report/curve.h"
#include "report/timeaxis.h"
#include "report/window.h"

struct panel {
	const struct curve *curve;
	struct window window;
	int width, height;      /* pixels */
	double low, high;       /* of the value axis, in the keeper's units */
	const struct tick *values, *times; /* hairlines of the grid */
	size_t value_count, time_count;
	double limits[2];       /* lines, those within low..high */
	size_t limit_count;
	const double *alerts;   /* instants to be marked */
	size_t alert_count;
	bool svg;               /* else PNG */
};

/* Colours shared with what the sheet writes beside the panels. */
#define COLOUR_PAGE "FBF8F2"    /* warm off-white */
#define COLOUR_INK "1F1D1A"
#define COLOUR_QUIET "6E685C"   /* second-rank text */
#define COLOUR_RIBBON "E6DECF"  /* grey-beige */
#define COLOUR_BELOW "0072B2"   /* Okabe and Ito's blue and vermilion (Color Universal */
#define COLOUR_ABOVE "D55E00"   /* Design, 2008; from memory) */
#define COLOUR_LIMIT "8A8274"

struct arguments {
	char **list;
	size_t count;
};

/* What librrd's graph function is called with.  Pure. */
void panel_arguments(const struct panel *panel, struct arguments *out);
void arguments_clear(struct arguments *arguments);

struct picture {
	unsigned char *bytes;   /* a PNG file or an SVG document; malloc'ed */
	size_t size;
	double low, high;       /* the values at the lower and the upper edge of the picture */
	int width, height;      /* pixels */
};

/* False and one sentence (the caller frees it) when librrd cannot draw it. */
bool panel_draw(const struct panel *panel, struct picture *out, char **trouble);

#endif
