/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows and bands -> the columns of a graph, in the keeper's units: one
 * number a column and layer, as many columns as the picture has pixels or
 * fewer, so that nothing is averaged again while it is drawn.  Pure.
 */
#ifndef WARMSIDE_REPORT_CURVE_H
#define WARMSIDE_REPORT_CURVE_H

#include <stdbool.h>
#include <stddef.h>

#include "report/excursions.h"
#include "report/ribbon.h"
#include "report/rows.h"

/* NaN where a layer has nothing to draw. */
enum layer {
	LAYER_LINE,             /* mean of the column's known time */
	LAYER_LEAST,            /* lowest and highest minute mean in it */
	LAYER_MOST,
	LAYER_BAND_LOW,         /* the ribbon's edges */
	LAYER_BAND_HIGH,
	LAYER_LIMIT_LOW,        /* the limits */
	LAYER_LIMIT_HIGH,
	LAYER_UNDER_FROM,       /* what was below: from here up to there */
	LAYER_UNDER_TO,
	LAYER_OVER_FROM,        /* what was above */
	LAYER_OVER_TO,
	LAYER_UNKNOWN,          /* 1 where nothing is known */
	LAYER_NIGHT,            /* 1 by night */
	LAYERS
};

struct curve {
	long from;              /* s since the epoch: where the first column begins, a multiple of step */
	int step;               /* s a column */
	size_t columns;
	bool coarse;            /* columns of many minutes: least and most say more than the line */
	bool nights;            /* nights are wide enough to be shaded */
	double *layers[LAYERS]; /* columns numbers each */
};

/* At most `width` columns for the window. */
void curve_make(const struct series_rows *rows, const struct ribbon *ribbon, struct window window,
		int width, enum units units, struct curve *out);
void curve_clear(struct curve *curve);

/* A temperature in the keeper's units; a humidity as it is. */
double in_units(double value, enum quantity quantity, enum units units);

/* Whether its columns are fine enough, to half an hour, to mark mistings: in coarser ones they
 * would be a row of marks. */
bool curve_shows_mistings(const struct curve *curve);

/* The lowest and highest number to be seen, band included; false when there
 * is none. */
bool curve_extent(const struct curve *curve, double *low, double *high);

/* Whether what is drawn as out in a column is beyond the limits of then. */
bool curve_beyond(const struct curve *curve, size_t column, enum side side);
bool curve_ever_beyond(const struct curve *curve);

/* Where the value a layer has in column `begin` ends: the column after the last that has it
 * without a break, at most `end`; another NaN ends one NaN.  The next columns have another. */
size_t curve_level(const struct curve *curve, enum layer layer, size_t begin, size_t end);

/* The next run [*begin, *end) of columns in which a layer has a number, at or
 * after column *begin; false when there is none.  To walk through them all:
 * begin = 0, and after each run begin = end. */
bool curve_run(const struct curve *curve, enum layer layer, size_t *begin, size_t *end);

#endif
