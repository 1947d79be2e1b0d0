/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A drying made up step by step, in an enclosure of 25 °C, for tests of what is told
 * of it.
 */
#ifndef WARMSIDE_TESTS_DRYING_CASE_H
#define WARMSIDE_TESTS_DRYING_CASE_H

#include <stdbool.h>
#include <stddef.h>

#include "report/drying.h"

#define WARM 25.0               /* °C */
#define BEGIN 1767571200.0      /* 2026-01-05T00:00:00Z */

enum { MISTED = 6 };            /* the step it is misted in */

struct air {
	struct bins inside, room;
	struct band_record band;
	bool has_room;
	double end;             /* s since the epoch; 0: of the steps */
};

/* What the vapour (g/m³) of step i is, as a probe tells it. */
void set_step(struct bin *bin, double vapour, size_t i);
double vapour_of(double floor, double drop, double time_constant, size_t i);

/* g/m³, g/m³, h, h; the room is at the floor, and there is no band. */
struct air falling(double floor, double drop, double time_constant, double hours);
struct air usual(void);         /* 9, 7, 3, 24 */

/* Fits it; the air is freed. */
struct drying dry(struct air *air);

#endif
