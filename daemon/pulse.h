/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The heartbeat: a sign of life to an address that complains when it stays
 * away.  It beats only while readings really flow from every bus and the loop
 * really turns.
 */
#ifndef WARMSIDE_DAEMON_PULSE_H
#define WARMSIDE_DAEMON_PULSE_H

#include "daemon/flow.h"

/* Zero-initialised. */
struct pulse {
	double last;            /* monotonic s; 0: not yet */
	unsigned long number;
};

/* The JSON body of a beat that is due, malloc'ed; NULL when none is.  `mono` is
 * the monotonic time in s.  A bus that gave no valid reading for as long as
 * conf->heartbeat.every and three of its polls stops it. */
char *pulse_step(struct pulse *pulse, const struct flow *flow, double mono);

#endif
