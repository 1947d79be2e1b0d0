/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which probe is being warmed: how far each has come from where it was first
 * seen, and whether it rises now.  Pure.
 */
#ifndef WARMSIDE_DAEMON_WARMING_H
#define WARMSIDE_DAEMON_WARMING_H

#include <stdbool.h>
#include <stddef.h>

enum {
	WARMING_SECONDS = 180,  /* how far back "now" reaches: a bus may be asked once a minute */
	WARMING_STEP = 4,       /* s between two values that are kept */
	WARMING_KEPT = WARMING_SECONDS / WARMING_STEP + 2,
};

/* One probe's temperatures, °C; zero-initialised. */
struct warming {
	bool begun;
	double first;           /* where it was first seen */
	size_t count;
	struct {
		double time, value; /* s; °C */
	} kept[WARMING_KEPT];   /* oldest first; the last one is the latest */
};

/* Takes a value; times do not go back. */
void warming_take(struct warming *warming, double time, double value);

/* How far it has come since it was first seen, °C; 0 before that. */
double warming_change(const struct warming *warming);

/* How far it has risen from its lowest lately, while it is rising: one that
 * has been let go and falls does not.  0 when that is less than a hand does. */
double warming_rise(const struct warming *warming);

#endif
