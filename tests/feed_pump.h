/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The small part of an event loop that a feed needs, for tests.  Its clock
 * may run faster than the real one, so that pauses need not be waited for.
 */
#ifndef WARMSIDE_TESTS_FEED_PUMP_H
#define WARMSIDE_TESTS_FEED_PUMP_H

#include <stdbool.h>

#include "daemon/feed.h"

/* Monotonic, s, times speed. */
double pump_clock(double speed);

/* One turn: steps the feed, waits at most so many ms for something to happen
 * and passes it on, a death too.  True when the archivist said something. */
bool pump(struct feed *feed, double speed, int wait_ms);

/* The part of a turn after feed_step, by a clock of the caller's own. */
bool pump_at(struct feed *feed, double now, int wait_ms);

/* Turns until done(context) or the real time is up; true when done. */
bool pump_until(struct feed *feed, double speed, double seconds, bool (*done)(void *context),
		void *context);

/* Conditions for pump_until; the context is the feed. */
bool pump_empty(void *feed);
bool pump_closed(void *feed);
bool pump_hello(void *feed);

#endif
