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
	double room_change;     /* of the room's vapour meanwhile, as a share; 0 when not known */
};

/* Hours from the misting on; INFINITY: never. */
struct drying_reach {
	struct spread spread;
	double dry;             /* the dry quarter: one in four comes earlier */
};

struct drying_summary {
	size_t mistings;
	bool has_rate;
	double a_day;           /* mistings, over the time in which one would be seen */
	size_t fitted;
	size_t rejected[DRYING_VERDICTS]; /* by verdict */
	struct spread time_constant; /* h */
	bool has_floor;
	double floor_humidity;  /* %: with the room's air and the temperature of the last day */
	bool floor_is_moved;    /* by the room's air; else as it was */
	struct drying_reach edge, limit;
	struct spread air_changes; /* 1/h */
	struct drying_trend trend;
};

void drying_summary_of(const struct dryings *dryings, struct drying_summary *out);

/* The trend alone, of dryings by time. */
struct drying_trend drying_trend_of(const struct drying *list, size_t count);

#endif
