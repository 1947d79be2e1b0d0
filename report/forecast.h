/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the humidity at a place will do if nobody mists: from its past alone.  Pure.
 */
#ifndef WARMSIDE_REPORT_FORECAST_H
#define WARMSIDE_REPORT_FORECAST_H

#include <stdbool.h>

#include "report/bins.h"
#include "report/mistings.h"
#include "report/ribbon.h"
#include "report/spread.h"

/* The air of the days before `now`, in steps of FORECAST_STEP; what is older than FORECAST_DAYS
 * is not looked at. */
struct forecast_past {
	const struct bins *inside, *room; /* room NULL: it has no probe, and the spreads are wide;
					   * so they are when it has been silent for hours */
	const struct mistings *mistings;  /* those in it */
	const struct ribbon *ribbon;      /* the humidity's bands and limits; none after now */
	const struct rule *rule;          /* its patience, deadband and off-delay */
	double now;                       /* s since the epoch */
};

enum { FORECAST_STEP = 600, FORECAST_DAYS = 14 }; /* s; how far back it looks at most */

/* Hours from now on; INFINITY: not within the horizon.  An episode is what the daemon's judge
 * makes of it, on half-hour means: it begins below the band's edge, ends inside by the deadband for
 * the off-delay, and what counts against patience is the time below in it, all in all; one that is
 * under way now counts from its begin.  A `daily` allowance is left out. */
struct forecast {
	bool known;             /* enough of the past is there */
	bool room_known;        /* the room's air is among it.  Where not, what comes later than
				 * `followed` is not to be relied on: too much is guessed */
	double followed;        /* h: the longest time in it without a misting, or a gap of more
				 * than half an hour, in which there may have been one */
	struct spread leaves;   /* its band, downwards; 0 when it is below now */
	struct spread passes;   /* its lower limit */
	struct spread told;     /* patience is used up in an episode */
	struct spread longest;  /* time below in the longest episode, up to the horizon; never
				 * INFINITY */
	bool below_now;         /* the mean of the last half hour is */
	double below_for;       /* h below in the episode that is under way; 0: none is */
};

/* Up to `horizon` hours from now on.  The same past gives the same forecast.  It is not known
 * when little is archived, or nothing of the last six hours.
 *
 * tests/run-backtest.sh: in simulated rooms left alone on 60 days of a year the 80 % interval for
 * `leaves` covers 86 % (81 to 82 % of those that are in doubt; without the room's probe 90 and
 * 87 %).  There the store is as
 * the law has it.  One that gives off its last water ever faster than its first is not seen
 * before it does: made up so, the same rooms left their bands too early in every fifth case. */
void forecast_make(const struct forecast_past *past, double horizon, struct forecast *out);

#endif
