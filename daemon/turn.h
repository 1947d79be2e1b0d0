/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which of the messages that wait for a webhook is next: the oldest; but when
 * several have come and gone unsent, first what still stands.  Pure.
 */
#ifndef WARMSIDE_DAEMON_TURN_H
#define WARMSIDE_DAEMON_TURN_H

#include "daemon/waiting.h"

/* Marks, webhook by webhook, what is over: every alert it tells of was raised
 * and has cleared within messages that wait and are not on their way. */
void turn_mark(struct waitings *waitings);

/* What a webhook could be given now: the oldest of each kind that is not
 * resting, or NULL. */
struct turn {
	struct waiting *oldest;   /* of all but summaries */
	struct waiting *standing; /* of those that are not over */
	struct waiting *summary;
	size_t over;              /* messages that a new summary would replace, resting
				   * or not; worth it from 2 up */
};

struct turn turn_of(const struct waitings *waitings, size_t webhook, double now);

#endif
