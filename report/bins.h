/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> the air in equal steps of time, known or not: what every fit is
 * made from.  Pure.
 */
#ifndef WARMSIDE_REPORT_BINS_H
#define WARMSIDE_REPORT_BINS_H

#include <stddef.h>

#include "report/rows.h"

/* Means over the known part of a step. */
struct bin {
	double ok;              /* s known; 0: nothing, the others are not valid */
	double celsius;
	double humidity;        /* % */
	double vapour;          /* g/m³ */
};

struct bins {
	double from;            /* s since the epoch: where the first begins, a multiple of step */
	double step;            /* s */
	struct bin *list;
	size_t count;
};

/* The steps that cover the window, from the rows of humidity and temperature of one
 * place (of one record: rows of the same times).  A row counts where its middle
 * lies, and only when both are known.  Vapour is reckoned from each row's pair: of
 * noisy pairs its mean is right, where one of means would not be.  A humidity of NULL
 * leaves humidity and vapour at 0, for a temperature alone.  The caller frees
 * with bins_clear. */
void bins_make(const struct series_rows *humidity, const struct series_rows *temperature,
	       struct window window, double step, struct bins *out);
void bins_clear(struct bins *bins);

/* The middle of step i, s since the epoch. */
double bin_time(const struct bins *bins, size_t i);

/* The step an instant lies in; NULL when there is none. */
const struct bin *bin_at(const struct bins *bins, double instant);

#endif
