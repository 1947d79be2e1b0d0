/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The end of a gathering on the event loop: what is gathered goes when its
 * time is up, not with whatever happens next.
 */
#ifndef WARMSIDE_DAEMON_LOOP_SEND_H
#define WARMSIDE_DAEMON_LOOP_SEND_H

#include <ev.h>

#include "daemon/gathering.h"

struct loop_send {
	ev_timer timer;
	double at;              /* flow time for which it is set, while it is active */
};

/* call: with data in timer->data.  Nothing is awaited yet. */
void loop_send_init(struct loop_send *send,
		    void (*call)(struct ev_loop *ev, ev_timer *timer, int events), void *data);

/* Awaits the end of the gathering, if it is open, and nothing else.  now: flow
 * time, just read.  To be called after whatever may have opened or sent it. */
void loop_send_arm(struct loop_send *send, struct ev_loop *ev, const struct gathering *gathering,
		   double now);

void loop_send_stop(struct loop_send *send, struct ev_loop *ev);

#endif
