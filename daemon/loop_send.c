/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a gathering is over; see loop_send.h.
 */
#include "daemon/loop_send.h"

#include <math.h>

enum { LONGEST_WAIT = 3600 }; /* s; libev wants a number */

void loop_send_init(struct loop_send *send,
		    void (*call)(struct ev_loop *ev, ev_timer *timer, int events), void *data)
{
	*send = (struct loop_send){ 0 };
	ev_timer_init(&send->timer, call, 0, 0);
	send->timer.data = data;
}

void loop_send_arm(struct loop_send *send, struct ev_loop *ev, const struct gathering *gathering,
		   double now)
{
	if (gathering->open && ev_is_active(&send->timer) && send->at == gathering->close)
		return;
	ev_timer_stop(ev, &send->timer);
	if (!gathering->open)
		return;
	send->at = gathering->close;
	ev_timer_set(&send->timer, fmin(fmax(gathering->close - now, 0), LONGEST_WAIT), 0);
	/* libev counts from its own idea of now, which is older than ours. */
	ev_now_update(ev);
	ev_timer_start(ev, &send->timer);
}

void loop_send_stop(struct loop_send *send, struct ev_loop *ev)
{
	ev_timer_stop(ev, &send->timer);
}
