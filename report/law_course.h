/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a law makes of a stretch of air, and what it leaves.  For law.c.  Pure.
 */
#ifndef WARMSIDE_REPORT_LAW_COURSE_H
#define WARMSIDE_REPORT_LAW_COURSE_H

#include <stddef.h>

#include "conf/course.h"
#include "report/law_air.h"

/* The course with an empty store, and what a full one
 * would add. */
struct course {
	struct course_state empty, full;
};

/* One stretch after a law. */
struct stretch {
	size_t from, to;        /* moments */
	double store;           /* the best a at its beginning; of noisy air beyond 0..1 too */
	double information;     /* on it: 1 / (standard error)², were it alone unsure */
	struct course end;      /* at the last moment */
};

/* At each moment, in %: what is left of the humidity, what a full store adds to it, and what
 * more vapour where the air began would. */
struct columns {
	double *left, *answer, *fade;
};

/* For so many moments; cleared with columns_free. */
struct columns columns_make(size_t count);
void columns_free(struct columns *columns);

/* From the moment at which a stretch begins to the next; in `left` is then what the best
 * store leaves, in units of air->unit. */
struct stretch stretch_from(const struct law_air *air, size_t from,
			    const struct course_law *law, const struct columns *columns);

/* The sum of squares of what it leaves. */
double stretch_misfit(const struct columns *columns, const struct stretch *stretch);

#endif
