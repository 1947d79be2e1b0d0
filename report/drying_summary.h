/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The dryings of an enclosure -> how it dries: what the next one will do, and
 * whether it has changed.  Pure.
 */
#ifndef WARMSIDE_REPORT_DRYING_SUMMARY_H
#define WARMSIDE_REPORT_DRYING_SUMMARY_H

#include "report/dryings.h"
#include "report/spread.h"

/* Whether its time constant has changed over the window. */
struct drying_trend {
	bool told;              /* it has, and not by chance */
	double span;            /* s from the first to the last drying */
	double change;          /* of the time constant over it: -0.2 is 20 % less */
	double chance;          /* 0..1 */
	bool has_room_change;
	double room_change;     /* of the room's vapour meanwhile, as a share */
};

/* Hours from the misting on; INFINITY: never, by the floor of the fit.  What was seen counts
 * of every drying, what is foretold of those fitted. */
struct drying_reach {
	struct spread spread;
	bool has_dry;           /* of fewer than 4 dryings no quarter is told */
	double dry;             /* the dry quarter: one in four comes earlier */
	/* Of the dryings known well enough that it would have been seen: */
	size_t watched;
	size_t seen;            /* they came below it */
	size_t third;           /* how many the first and the last third of them are */
	size_t first_seen, last_seen; /* of these */
};

struct drying_summary {
	size_t mistings;
	bool has_rate;
	double a_day;           /* mistings, over the time in which one would be seen */
	size_t fitted;
	size_t rejected[DRYING_VERDICTS]; /* by verdict */
	struct spread time_constant; /* h */
	bool has_floor;
	double floor_median;    /* %: of the floors as they were */
	double floor_humidity;  /* %: the same in the room's air of the last day */
	bool floor_is_moved;    /* by the room's air; else both are the same */
	struct drying_reach edge, limit;
	double longest;         /* h: of the dryings, from the misting on; 0 when there is none */
	size_t longest_at;      /* which it is */
	size_t long_count;      /* dryings of DRYING_LONG or more */
	size_t long_held;       /* of these came below the edge neither before a day was over nor
				 * at all */
	bool is_unfinished;     /* the last is too short so far: no misting ended it */
	struct spread air_changes; /* 1/h */
	struct drying_trend trend;
};

enum { DRYING_DAY = 24, DRYING_LONG = 20 }; /* h: what shows whether a day is held */

void drying_summary_of(const struct dryings *dryings, struct drying_summary *out);

/* The trend alone, of dryings by time. */
struct drying_trend drying_trend_of(const struct drying *list, size_t count);

#endif
