/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What becomes of an enclosure that is left alone: from its record, the forecast of
 * each place with a band for its humidity, and what its temperature would do in a power cut.
 */
#ifndef WARMSIDE_REPORT_OUTLOOK_H
#define WARMSIDE_REPORT_OUTLOOK_H

#include <stdbool.h>

#include "report/away.h"
#include "report/cooling.h"
#include "report/past.h"
#include "report/rows.h"
#include "report/standing.h"

/* What all outlooks of one report have in common. */
struct outlook_base {
	const struct conf *conf;
	struct window window;   /* the past that is looked at; its end is the "now" of all below */
	double hours;           /* h: how long nobody comes */
	const struct band_list *bands;
	const struct room_past *room;
	const struct bins *room_temperature; /* NULL when the room has no thermometer */
	const struct standing *standing; /* the alerts of then */
	double coldest;         /* °C: the room's coldest step of the last day; else not valid */
};

/* The place that would pass its lower limit of temperature first, of those of which it is
 * known; the hot spot aside: what is under a lamp is as cold as its side when the lamp is out. */
struct power_cut {
	bool untold[PLACES];    /* it has a limit, but what becomes of it is not known */
	bool known;             /* the rest is valid */
	enum place place;
	double from, limit;     /* °C: what it is now, and its lower limit */
	struct cooling cooling;
	double hours;           /* h until it is colder than its limit; 0: it is; INFINITY: the
				 * room is not cold enough for that */
};

/* Why nothing can be said of an enclosure. */
enum outlook_gap {
	GAP_NONE,
	GAP_NO_ARCHIVE,         /* none to be read */
	GAP_NO_BAND,            /* no humidity with a band is measured in it */
	GAP_NO_THERMOMETER,     /* beside the humidity */
	GAP_TOLD_SILENT,        /* an alert stands that says so of the probe */
	GAP_TOLD_FROZEN,
	GAP_SILENT,             /* no reading of the last hour */
	GAP_SHORT,              /* too little of its past is known */
	GAP_GUESSED,            /* the room's air is not known, and it was never left so long */
	GAPS
};

struct outlook {
	const struct enclosure *enclosure;
	enum outlook_gap gap;   /* of the place the verdict is of */
	bool has_place;         /* place, rule and forecast are valid, the forecast when
				 * there is no gap */
	enum place place;       /* the worst of those with a band */
	struct rule rule;       /* its humidity's of then; its texts are the configuration's */
	struct forecast forecast;
	struct away away;
	double past_from;       /* s since the epoch: since when there is a record of the air */
	double past_seconds;    /* and how much of it is known; 0: nothing */
	struct power_cut cut;
};

void outlook_make(const struct outlook_base *base, const struct enclosure *enclosure,
		  const struct record *record, struct outlook *out);

/* Worst first, then those to whom it happens sooner; for qsort. */
int outlook_compare(const void *one, const void *other);

#endif
