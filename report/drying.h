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
 * is), a week at most.  All of *out is filled in.  It begins behind the highest step of 45
 * minutes, and behind what a wet probe hides: one at 99 % or more, or one that falls from above
 * 95 % at once by most of what lies above the hours afterwards, as only a probe's own water
 * does when it is gone.  The top is then that of what is left.  Verdicts, the first that holds:
 *
 *   SHORT   less than 2 hours
 *   GAPS    nothing is known of 40 % of the steps, or more
 *   WET     less than 2 hours are left of it, or the probe is wet in more than a quarter of them
 *   FLAT    it falls by less than 2 % of the vapour at its top
 *   SLOW    the time constant is longer than the drying, or told with an error of more than
 *           half of it
 *   RAGGED  the same error, though the drying is three time constants long
 *
 * An edge is seen passed when the humidity's mean over half an hour is below it, and most of the
 * three hours afterwards, as far as it was looked at: not for an open door.  It is foretold for
 * two weeks, at the mean temperature. */
void drying_fit(const struct drying_air *air, struct misting misting, double end,
		struct drying *out);

/* Of a fitted one: what holds the truth 80 times of 100, by Student's t; that of the time
 * constant (h) is even on both sides on a logarithmic scale. */
struct range drying_time_constant_range(const struct drying *drying);
struct range drying_floor_range(const struct drying *drying); /* g/m³ */

/* "it does not fall"; NULL of a fitted one. */
const char *drying_reason(enum drying_verdict verdict);

#endif
