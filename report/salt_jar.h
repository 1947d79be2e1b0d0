/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A probe in a closed jar over a saturated salt: when the jar had settled, what the probe
 * read from then on, and how well that is known.  Pure.
 */
#ifndef WARMSIDE_REPORT_SALT_JAR_H
#define WARMSIDE_REPORT_SALT_JAR_H

#include <stdbool.h>

#include "report/bins.h"
#include "report/salt.h"

enum { JAR_STEP = 600 }; /* s: steps of the past, where its rows are no longer */

/* What was recorded, from when the jar was closed. */
struct jar_past {
	const struct bins *inside; /* what the probe itself reads; its temperature is the air's */
	const struct bins *room;   /* the same steps and, best, a day before; NULL: no probe */
	enum salt salt;
	double resolution;      /* %: of what the probe gives; 0: not known */
};

/* Why there is no result, in the order in which it is looked for. */
enum jar_verdict {
	JAR_SETTLED,
	JAR_SHORT,              /* closed for too short a time */
	JAR_GAPS,               /* too little of it is known */
	JAR_OPENED,             /* it jumps before the end */
	JAR_WET,                /* the probe stands at the end of its range */
	JAR_OUTSIDE,            /* too cold or warm for the table */
	JAR_SWINGING,           /* the temperature is not steady */
	JAR_LEAKING,            /* it follows the room's air */
	JAR_MOVING,             /* the humidity is not steady */
	JAR_NOISY,              /* it scatters so that nobody can tell */
	JAR_FAR,                /* no probe is that wrong */
};

/* Where the uncertainty comes from: standard uncertainties, % relative humidity. */
struct jar_parts {
	double salt;            /* the paper's own */
	double scatter;         /* of the mean */
	double moving;          /* what may still have been to come */
	double temperature;     /* the probe's thermometer, by way of the salt's value */
	double unequal;         /* air and salt were not of one temperature while it changed */
	double resolution;      /* 0: not known */
};

struct jar {
	enum jar_verdict verdict;
	double settled;         /* when the plateau begins, s since the epoch ... */
	double until;           /* ... and where it ends */
	double read;            /* %: mean of what the probe reads there */
	double spread;          /* %: standard deviation of its steps */
	double drift;           /* % an hour */
	double celsius;         /* mean ... */
	double coldest, warmest; /* ... and hourly means from lowest to highest */
	double actual;          /* %: the salt's humidity at that temperature */
	struct jar_parts parts;
	double uncertainty;     /* %, expanded (k = 2) */
	bool room_known;        /* its air was looked at: */
	double leak;            /* % by which the room's air moved the jar; with JAR_LEAKING */
	double unseen;          /* % by which it may have, without being seen; INFINITY: any */
};

/* Fills *out as far as its verdict goes: with JAR_SETTLED all of it; with the others
 * read, drift, celsius, coldest and warmest of the last hours where they are known.
 *
 * tests/salt_jars.c, 1000 simulated jars of each kind, most of 14 h in a room that swings by
 * 0.8 °C and 12 %: of tight ones 97 % and more settle; the mean error is below 0.1 %, and the
 * uncertainty holds it in 95 % and more.  A leak of a tenth of the room's air (3 % of humidity) is
 * refused in 24 h (999 of 1000), in 14 h every second time; one of a fifth in 14 h in 97 %.  Without
 * the room's air none is seen that leaves the jar steady. */
void jar_look(const struct jar_past *past, struct jar *out);

#endif
