/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> how long a series was below, above and inside its band, how long
 * nothing is known, and by how much it was out.  Pure.
 */
#ifndef WARMSIDE_REPORT_TOTALS_H
#define WARMSIDE_REPORT_TOTALS_H

#include <stdbool.h>

#include "report/rows.h"
#include "report/window.h"

/* low + high + inside + unknown is the window, to the microsecond; without a
 * band low, high, inside and degree_hours mean nothing. */
struct totals {
	bool has_band;
	double low, high, inside, unknown; /* s */
	double degree_hours;    /* distance outside x time: °C h or % h (EN 15251, Annex F
				 * method B, from memory: hours weighted by the distance) */
	bool known;             /* min, mean and max are there */
	double min, max;        /* of minute means, °C or % */
	double mean;            /* sum of value x known time / known time */
};

/* The rows must lie inside the window (rows_cut). */
struct totals totals_of(const struct series_rows *rows, struct window window, bool has_band);

#endif
