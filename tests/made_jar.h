/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Simulated jars over salts, minute by minute, whose probes' errors are known.
 */
#ifndef WARMSIDE_TESTS_MADE_JAR_H
#define WARMSIDE_TESTS_MADE_JAR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "report/salt_jar.h"

#define JAR_BEGIN 1767571200.0 /* 2026-01-05T00:00:00Z */

struct made_jar {
	enum salt salt;
	double hours;           /* closed */
	double delay;           /* h: of the tight jar with its probe */
	double leak;            /* share of the room's air in the end: 0 tight */
	double begin;           /* %: of the air that was shut in */
	double celsius, swing;  /* °C: mean, and half the daily swing */
	double room, room_swing; /* %: at the room's temperature */
	double error, slope;    /* the probe reads slope x true + error, % */
	double noise;           /* % of each minute's mean */
	double step;            /* %: the probe's resolution */
	double opened;          /* h before the end the probe was taken out; 0: never */
	double hidden;          /* h without readings before the end; 0: none */
	double hole, hole_end;  /* h without readings, which end so many h before the end */
};

extern const struct made_jar usual_jar;

/* 16; 1000 when LONG is set. */
size_t made_jar_seeds(void);

/* Whoever makes it frees both lists. */
struct jar_case {
	struct bins inside, room;
	uint64_t chance;
	double salt_error;      /* %: the salt itself is not quite Greenspan's */
};

/* Empty steps; the caller frees the list. */
struct bins made_jar_bins(double from, double to);

void made_jar_make(const struct made_jar *made, uint64_t seed, struct jar_case *out);

/* What is found in such a jar, with or without a probe in the room. */
void made_jar_look(const struct made_jar *made, uint64_t seed, bool with_room, struct jar *out);

#endif
