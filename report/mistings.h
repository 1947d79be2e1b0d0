/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> mistings: each sharp rise of humidity the keeper caused.  Pure.
 */
#ifndef WARMSIDE_REPORT_MISTINGS_H
#define WARMSIDE_REPORT_MISTINGS_H

#include <stddef.h>

#include "report/rows.h"

struct misting {
	double at;              /* s since the epoch: the begin of the rise */
	double from, to;        /* %: the relative humidity before it and at its top */
};

struct mistings {
	struct misting *list;   /* by time */
	size_t count;
};

/* From the rows of one humidity series, and those of the temperature at the
 * same place (NULL when there is none), so that a rise of relative humidity
 * that only follows from cooling is none.  Rows coarser than ten minutes
 * cannot show one, and give none.  The caller frees with mistings_clear. */
void mistings_find(const struct series_rows *humidity, const struct series_rows *temperature,
		   struct mistings *out);
void mistings_clear(struct mistings *mistings);

#endif
