/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One misting -> how the enclosure dried after it: a floor and a time constant with
 * their errors, or why none can be told.  Pure.
 */
#ifndef WARMSIDE_REPORT_DRYING_H
#define WARMSIDE_REPORT_DRYING_H

#include "conf/dryinglog.h"
#include "report/bins.h"
#include "report/mistings.h"
#include "report/ribbon.h"

/* The air of an enclosure's place and of its room over a longer time. */
struct drying_air {
	const struct bins *inside; /* steps of DRYING_STEP or finer */
	const struct bins *room;   /* NULL when the room has no probe for both quantities */
	const struct ribbon *ribbon; /* the humidity's bands and limits */
};

enum { DRYING_STEP = 600 };     /* s */

/* The drying after a misting, until `end` (the next misting, or the end of what there
 * is).  All of *out is filled in. */
void drying_fit(const struct drying_air *air, struct misting misting, double end,
		struct drying *out);

/* The lower limit and the higher one that a verdict's errors leave: 80 %. */
struct range drying_time_constant_range(const struct drying *drying);
struct range drying_floor_range(const struct drying *drying); /* g/m³ */

/* "it does not fall"; NULL of a fitted one. */
const char *drying_reason(enum drying_verdict verdict);

#endif
