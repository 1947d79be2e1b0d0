/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The live counterparts of what the configuration names: latest readings,
 * what strays, what stands.  Types only; flow.c moves them along, standing.c
 * keeps them over a restart, nowfile.c shows them.
 */
#ifndef WARMSIDE_DAEMON_LIVE_H
#define WARMSIDE_DAEMON_LIVE_H

#include "conf/layout.h"
#include "conf/model.h"
#include "daemon/alert.h"
#include "daemon/coverage.h"
#include "daemon/diagnosis.h"
#include "daemon/due.h"
#include "daemon/gate.h"
#include "daemon/judge.h"
#include "daemon/log.h"
#include "daemon/minutes.h"
#include "daemon/reading.h"

struct live_probe {
	struct gate gates[QUANTITIES];
	struct coverage coverage[QUANTITIES]; /* how much of it has been known lately */
	struct repeat repeat;
	bool frozen;
	struct counters counters;
	bool has_last;
	struct reading last;    /* raw, as it came */
	bool has_good;          /* a reading of it has counted, the latest ... */
	double good;            /* ... then (or: waited for since); and since then came ... */
	struct misses missed, strays; /* ... of itself, and of nobody, on its bus */
	size_t first_user, user_count; /* in flow.users */
};

/* A series that takes its values from a probe. */
struct live_user {
	size_t enclosure, series;
};

/* A computed one is fed by the thermometer that sits there, and has the air of
 * another place. */
struct live_series {
	struct series key;
	const struct rule *rule;
	size_t probe;           /* by which it is fed ... */
	enum quantity fed;      /* ... with this: its own, but when it is computed */
	enum place source;      /* that other place, when it is computed, ... */
	size_t source_probe;    /* ... and the probe there */
	double every;           /* s */
	double heard;           /* the last valid reading, or since when it is waited for */
	double speaking;        /* since when it has been heard without a longer gap */
	struct judged judged;
	struct alert alert;
};

struct live_place {
	struct alert silence, frozen;
	bool patchy;            /* while its silence stands: it answered only now and then */
};

/* The difference between warm and cool side, judged like any quantity. */
struct live_gradient {
	struct rule rule;       /* valid when the enclosure has a gradient */
	struct judged judged;
	struct alert alert;
};

/* When the next misting is due.  Of the room only its air. */
struct live_due {
	bool has_law;
	struct drying_record record; /* without its list; valid when has_law */
	struct log_state lacking; /* nothing is known that can be used */
	bool followed;          /* the air at `place` is kept */
	enum place place;
	struct due_air air;
	double next;            /* the next look */
	int looks;              /* so many in a row said otherwise than what stands */
	struct alert alert;
	double at, edge;        /* while it stands: as it was foretold when it was told */
};

/* What is hardly ever written: by itself, so that it takes no memory until it is. */
struct live_seldom {
	struct live_place places[PLACES];
	struct live_gradient gradient;
	struct live_due due;
};

struct live_enclosure {
	const struct enclosure *conf;
	size_t count;           /* as enclosure_series(): archived, and judged ... */
	size_t shown;           /* ... behind them what is computed and shown only */
	struct live_series *series; /* `shown` of them, in flow.series */
	struct live_place *places; /* PLACES of them, ... */
	struct live_gradient *gradient;
	struct live_due *due;   /* ... all in flow.seldom */
	bool shelved;           /* its alerts are held ... */
	double shelved_until;   /* ... until then, valid when shelved */
	struct minutes *minutes;
};

/* Most enclosures stray the same way: one matter of the whole room, told with
 * the room's own reading.  Zero-initialised: there is none. */
struct matter {
	bool on;
	double since;           /* when the first of them began to stray */
	double wide;            /* until when it was most of them, so far */
	enum priority gravest;  /* the highest it was ever told with */
	size_t most;            /* alerts joined at one time, at most */
	double cleared;         /* when the last of them was cleared; 0: none yet */
	struct life life;
};

enum { SIDES = 2 }; /* matters: BELOW - 1 and ABOVE - 1 */

#endif
