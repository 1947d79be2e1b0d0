/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long minutes gather before they are sent to the archivist: much goes at
 * once; less waits for more, because every batch costs each of its files a
 * saved head, and a memory card a write.  Pure; times are monotonic, in s.
 */
#ifndef WARMSIDE_DAEMON_FEED_WAIT_H
#define WARMSIDE_DAEMON_FEED_WAIT_H

#include <stdbool.h>
#include <stddef.h>

struct feed_wait {
	bool on;                /* else what there is goes within a second */
	double longest;         /* s */
	double next;            /* s: how long what begins to gather next waits */
	double until;           /* +infinity: nothing gathers */
	bool sending;           /* until nothing is left to send */
};

/* Nothing gathers, and is not to. */
void feed_wait_begin(struct feed_wait *wait, double longest);

/* True when the `ready` bytes are to go now.  `much`: so many do not wait;
 * hurry: nothing does. */
bool feed_wait_over(struct feed_wait *wait, size_t ready, size_t much, bool hurry, double now);

/* All that gathered is gone. */
void feed_wait_done(struct feed_wait *wait);

#endif
