/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Days of air in an enclosure that keeps a law to the letter, for tests of what is
 * told from them.
 */
#ifndef WARMSIDE_TESTS_MADE_AIR_H
#define WARMSIDE_TESTS_MADE_AIR_H

#include <stdbool.h>
#include <stdint.h>

#include "conf/course.h"
#include "report/bins.h"
#include "report/mistings.h"

#define MADE_BEGIN 1767225600.0 /* 2026-01-01T00:00:00Z */

struct made_air {
	/* asked for */
	struct course_law law;
	double days;
	int misted;             /* times a day, from 8 h on; each fills the store up to FULL */
	int every;              /* ... on each of so many days; 0: every day */
	int unseen;             /* so many mistings, from the third on, are not listed */
	bool doors;             /* opened twice a day for some minutes */
	double noise;           /* %: of a step's humidity, standard deviation */
	double gap_from, gap_days; /* in which the place's probe is silent */
	uint64_t seed;
	/* made: steps of ten minutes; cleared with made_air_clear */
	struct bins inside, room;
	struct mistings mistings;
	struct course_state now; /* at the end, without noise */
};

/* The store after a misting, and at the beginning. */
#define MADE_FULL 0.7

/* 24 °C ± 2 and a room of 7 g/m³ ± 1, in the course of a day. */
struct course_around made_around(double instant);
double made_celsius(double instant);

void made_air_make(struct made_air *air);
void made_air_clear(struct made_air *air);

#endif
