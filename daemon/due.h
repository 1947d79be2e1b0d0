/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When an enclosure's air will be below its band if nobody mists: from its
 * present air, and from what its past has shown it to be like (conf/course.h).
 * Pure.
 */
#ifndef WARMSIDE_DAEMON_DUE_H
#define WARMSIDE_DAEMON_DUE_H

#include "conf/band.h"
#include "conf/dryinglog.h"
#include "daemon/gate.h"

enum {
	DUE_BIN = 600,          /* s ... */
	DUE_BINS = 5,           /* ... of which so many are remembered for a rise */
	DUE_APART = 20 * 3600,  /* s between two messages of one enclosure, at least: one a day,
				 * and the next may be somewhat sooner than the last */
};

/* The air at one place, from its readings.  Zero-initialised: nothing is known. */
struct due_air {
	bool has_celsius;
	struct sample celsius;  /* the latest temperature */
	bool begun;             /* all below is valid */
	double since, time;     /* of the first reading without a longer gap, and the latest */
	double slow_celsius, slow_vapour; /* means of about half an hour: °C, g/m³ */
	double humidity, vapour; /* means of a few minutes: %, g/m³ */
	struct due_bin {
		struct range humidity, vapour;
	} bins[DUE_BINS];       /* what those have been, a ring */
	double bin;             /* the latest */
	bool rose;              /* a misting was seen ... */
	double rose_at;         /* ... then, for the last time */
	double stirred;         /* when it rose or fell (an open door) last, or since */
};

/* Takes a reading of the place; a humidity counts with the temperature before it. */
void due_take(struct due_air *air, enum quantity quantity, struct sample sample);

/* The mean humidity of the last half hour, %; of an air that has begun. */
double due_humidity(const struct due_air *air);

/* Whether the air is known at `now`: its readings reach so far. */
bool due_is_heard(const struct due_air *air, double now);

struct due_question {
	const struct drying_record *record; /* with a law */
	const struct due_air *air;
	const struct due_air *room; /* NULL: none is measured, and nothing is told */
	const struct rule *rule; /* of the humidity, with a band at some time */
	const struct day *day;
	double now;             /* s since the epoch */
};

enum due_answer {
	DUE_UNTOLD,             /* the air or the room's is not known, or not at rest since a
				 * misting or an open door */
	DUE_LATER,              /* not within the horizon */
	DUE_THEN,
};

struct due {
	enum due_answer answer;
	double at;              /* s since the epoch, valid with DUE_THEN: it comes below the
				 * band, and stays so for half an hour */
	double edge;            /* %, likewise: the edge it comes below */
};

/* The coming temperature is that of the hour in the days before, shifted by what it differs
 * now; where that is not known it stays as it is.  The room stays as it is.  Horizon in s,
 * up to two days. */
struct due due_foretell(const struct due_question *question, struct daypart_cache *cache,
			double horizon);

#endif
