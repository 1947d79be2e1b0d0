/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> excursions: each unbroken time outside the band.  Pure.
 *
 * A row says for how many seconds the series was below and above, not when.
 * Those seconds are put next to a neighbouring row that was out on the same
 * side: at the row's begin when the one before was, at its end when the one
 * after was, half and half when both were (then the excursion is broken
 * there, because the row was not out all the time), and in its middle when
 * neither was.  So the excursions of a side add up to its seconds in the
 * totals of the same window.
 */
#ifndef WARMSIDE_REPORT_EXCURSIONS_H
#define WARMSIDE_REPORT_EXCURSIONS_H

#include <stdbool.h>
#include <stddef.h>

#include "report/ribbon.h"
#include "report/rows.h"

enum side { BELOW, ABOVE, SIDES };

const char *side_word(enum side side); /* "below", "above" */

/* How long a row was out on that side, s. */
double row_seconds_out(const struct row *row, enum side side);

struct excursion {
	enum side side;
	double from, to;        /* s since the epoch */
	bool lasts;             /* it reaches the newest archived minute */
	double worst;           /* farthest minute mean on that side, °C or %; NaN if not kept */
	double degree_hours;    /* °C h or % h */
	bool beyond_limits;
};

struct excursions {
	struct excursion *list; /* by time */
	size_t count;
};

/* The rows of one series, cut to a window, and its ribbon; newest is the record's.
 * Beyond its limits is what is beyond those of then.  The caller frees with
 * excursions_clear. */
void excursions_find(const struct series_rows *rows, double newest, const struct ribbon *ribbon,
		     struct excursions *out);
void excursions_clear(struct excursions *excursions);

#endif
