/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether the air in a jar goes along with the room's.  Pure.
 */
#ifndef WARMSIDE_REPORT_SALT_LEAK_H
#define WARMSIDE_REPORT_SALT_LEAK_H

#include <stdbool.h>
#include <stddef.h>

#include "report/bins.h"

/* What of the humidity in the jar is the room's. */
struct leak {
	double share;           /* 0: tight, 1: open */
	double error;           /* its standard error */
	double coarse;          /* by which it may be wrong besides, as readings are coarse */
	double air;             /* %: the room's air at the jar's temperature, as the jar had it */
};

/* h in which the salt itself follows the air's temperature (our own guess; no source). */
extern const double SALT_DELAY;

/* How far the temperature in a jar is ahead of what follows it by exponential approach within
 * so many hours, °C, for each step.  The caller frees; steps that are not known are 0. */
double *leak_lead(const struct bins *inside, double hours);

/* From the steps first..end - 1 of the jar.  A leaking jar is at (1 - share) salt + share room,
 * and follows the room with the same delay as it comes to its own value: `delay` in hours.  The
 * rest of that approach and the leads of the temperature are let go with it, so that neither
 * is taken for a leak.  `coarse` is what all values may be wrong by without showing, %.
 * False when it cannot be told: the room is not known or was too steady. */
bool leak_find(const struct bins *inside, const struct bins *room, size_t first, size_t end,
	       double delay, double coarse, struct leak *out);

#endif
