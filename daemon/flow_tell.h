/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Inside the flow: from an alert slot and what it should come to, to the
 * events that go into the alert log.
 */
#ifndef WARMSIDE_DAEMON_FLOW_TELL_H
#define WARMSIDE_DAEMON_FLOW_TELL_H

#include "daemon/flow.h"

/* Tells whatever a series' judged state calls for. */
void tell_series(struct flow *flow, struct live_enclosure *enclosure,
		 struct live_series *series);

/* Tells of a place's silence or its end.  `whole`: no probe of the enclosure
 * speaks; `only`: the one of two quantities that is silent, else NULL. */
void tell_silence(struct flow *flow, struct live_enclosure *enclosure, enum place place,
		  const struct wanted *wanted, bool whole, const enum quantity *only);

/* Clears whatever still stands in an enclosure that is going away. */
void tell_all_over(struct flow *flow, struct live_enclosure *enclosure);

/* For minutes_close and minutes_finish: hands a minute to the flow's sink. */
struct minute_for {
	struct flow *flow;
	size_t enclosure;
};
void hand_minute(void *context, const struct closed_minute *minute);

/* Lets go what the spike check held and nothing followed. */
void flow_release(struct flow *flow);

#endif
