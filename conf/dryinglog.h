/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One line of dryings.jsonl <-> one record, both directions: the mistings of an
 * enclosure between two moments, how it dried after each, and what it is like.
 * `warmside drying --save` writes them; longer windows of the report and the
 * daemon's "misting due" read them.  Pure.
 */
#ifndef WARMSIDE_CONF_DRYINGLOG_H
#define WARMSIDE_CONF_DRYINGLOG_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/alertlog.h"
#include "conf/course.h"
#include "conf/model.h"

/* What became of a drying. */
enum drying_verdict {
	DRYING_FITTED,
	DRYING_SHORT,           /* the next misting came too soon */
	DRYING_GAPS,            /* too little of it is known */
	DRYING_WET,             /* the probe itself was wet: near 100 % for too long */
	DRYING_FLAT,            /* it does not fall */
	DRYING_SLOW,            /* it falls too slowly for its length: no floor can be told */
	DRYING_RAGGED,          /* it falls, but not towards a floor */
	DRYING_VERDICTS
};

/* When the humidity comes below an edge. */
enum reach {
	REACH_UNTOLD,           /* there is no such edge, or nothing can be said */
	REACH_SEEN,             /* it did */
	REACH_FORETOLD,         /* it would have, by the fit, had nobody misted */
	REACH_NEVER,            /* the floor is above it */
};

struct reached {
	enum reach reach;
	double hours;           /* from the misting on; valid when seen or foretold */
};

/* A misting and the drying after it. */
struct drying {
	double at;              /* s since the epoch: the misting */
	double before, top;     /* %: before it, and at its top */
	double from, to;        /* s since the epoch: what was looked at, from its top on */
	enum drying_verdict verdict;
	/* All below but celsius, room, edge and limit are valid when DRYING_FITTED:
	 * w(t) = floor + drop exp(-(t - from) / (3600 time_constant)) */
	double time_constant;   /* h */
	double floor, drop;     /* g/m³ */
	double time_constant_error, floor_error; /* one standard error of each */
	double freedom;         /* degrees of freedom they are told with */
	double floor_humidity;  /* %: of the floor at celsius */
	double celsius;         /* mean temperature meanwhile; NAN when it is not known */
	bool has_room;
	double room;            /* g/m³: mean of the room's air meanwhile; valid when has_room */
	bool has_air_changes;
	double air_changes;     /* 1/h: a lower bound; see report/airing.h */
	struct reached edge, limit; /* the band's lower edge, and the lower limit; of one that is
				 * not fitted seen, or untold */
};

enum { HOURS_A_DAY = 24 };

/* "fitted", "short", ...: as files and JSON say it. */
const char *drying_verdict_word(enum drying_verdict verdict);
/* "untold", "seen", "foretold", "never". */
const char *reach_word(enum reach reach);

/* Whether there are hours. */
bool is_reached(const struct reached *reached);

struct drying_record {
	char enclosure[NAME_SIZE];
	enum place place;       /* whose humidity */
	double from, to;        /* s since the epoch: mistings that began in [from, to) are here */
	double known;           /* s of it in rows fine enough to show a misting */
	struct drying *list;    /* by time; owned by whoever filled it in */
	size_t count;
	bool has_law;           /* what it was like at `to`, by the days before and the room's air
				 * in them: without that no law can be told */
	struct course_law law;
	bool has_hour[HOURS_A_DAY];
	double celsius[HOURS_A_DAY]; /* mean by hour of the local day over those days */
};

/* One line without its newline; malloc'ed, the caller frees. */
char *drying_to_line(const struct drying_record *record);

/* False when the line is not a record (torn, foreign, impossible numbers).  The
 * caller frees out->list. */
bool drying_from_line(const char *line, struct drying_record *out);

#endif
