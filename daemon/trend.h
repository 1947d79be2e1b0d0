/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the last ten minutes of a temperature lead: will it pass a limit
 * soon?  (A rate-of-change alarm as OPC UA part 9, 3.1.15 means it, but with
 * the time that is left as its set point.)  In memory only, of constant size.
 * Pure.
 *
 * Readings are gathered into bins of 30 s.  What is carried on from the line
 * through all of them is the least of four rates towards the limit, so that
 * neither noise nor a step nor a lamp looks like a trend:
 *   - the least-squares slope of all bins, less its standard error;
 *   - the slope of the eldest quarter, and its standard error: what has only
 *     just begun may come to rest anywhere;
 *   - the slope of the newer half, which goes on to slow down as it did between
 *     the halves;
 *   - the slope of what remains without its fastest 3 min, and its standard
 *     error; and if those 3 min hold half of the whole move and 0.7 °C more,
 *     it is a step, and nothing is said of it.
 * And it must be new ground: what comes back from an opened door to where it
 * was within the last hour leads nowhere.
 *
 * The rules are our own, no source: they were chosen by simulating a heater
 * that is stuck on, a lamp, an opened door, and noise of 0.2 °C (tests/runaway.c).
 */
#ifndef WARMSIDE_DAEMON_TREND_H
#define WARMSIDE_DAEMON_TREND_H

#include <stdbool.h>
#include <stdint.h>

#include "daemon/gate.h"

enum {
	TREND_BIN = 30,         /* s */
	TREND_WINDOW = 600,     /* s looked back on */
	TREND_AHEAD = 900,      /* s looked ahead */
	TREND_PAST = 1800,      /* s gathered into one pair of extremes */
	TREND_BINS = TREND_WINDOW / TREND_BIN + 1,
	TREND_PASTS = 3,
};

/* A closed bin; small, because a thousand enclosures have thousands. */
struct trend_bin {
	uint32_t ticks;         /* mean time in 1/16 s; wraps, only differences count */
	float value;            /* mean, °C */
};

struct trend_extremes {
	bool known;
	float low, high;        /* °C */
};

/* Zero-initialised: nothing known. */
struct trend {
	double opened, last;    /* first of the open bin and latest reading, s since the epoch */
	double time_sum, value_sum; /* of the open bin; times from `opened` */
	unsigned short readings; /* in the open bin */
	unsigned char first, count; /* the closed bins: a ring, eldest first */
	uint32_t past_from;     /* ticks at which past[0] begins */
	struct trend_bin bins[TREND_BINS];
	struct trend_extremes past[TREND_PASTS]; /* of what was before them, newest first */
};

/* Takes a reading; times must rise.  One that comes more than `gap` s after
 * the one before begins anew.  True when it closed a bin: the time to ask. */
bool trend_take(struct trend *trend, double gap, struct sample reading);

/* Whether enough is known to be asked: 6 bins that cover 8 min. */
bool trend_known(const struct trend *trend);

/* The middle of the eldest bin looked at, s since the epoch; only when there
 * is a closed one. */
double trend_begins(const struct trend *trend);

/* Which of the limits (°C) the value passes within TREND_AHEAD s if its trend
 * goes on: 1 the upper one, -1 the lower one, 0 neither.  0 as well when that
 * is not known, and when the limit is passed already.  Costs next to nothing
 * for a value that has not come nearer to it by a third of what is left. */
int trend_leads(const struct trend *trend, struct range limits);

/* The clock moved by so many s, and the remembered times with it. */
void trend_shift(struct trend *trend, double by);

#endif
