/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * now.json: the latest readings, how every place stands, and the counters;
 * renewed every few seconds for whoever looks.
 */
#ifndef WARMSIDE_DAEMON_NOWFILE_H
#define WARMSIDE_DAEMON_NOWFILE_H

#include "daemon/delivery.h"
#include "daemon/flow.h"

/* What the courier has told of a webhook. */
struct webhook_state {
	double failing_since;   /* it does not answer, flow time; 0: it does */
	double refused;         /* when it refused one for good last; 0: never */
	double took;            /* when it took one last */
	char message[ALERT_ID]; /* the one that was refused last, or "" */
	bool gone;              /* it wants no message at all any more */
	char why[DELIVERY_WHY]; /* why it took none last; "" since it took one */
};

/* What the flow does not know about itself. */
struct now_extra {
	bool running;           /* a daemon writes this (and not a replay) */
	size_t bus_count;       /* as conf->buses */
	const bool *bus_open;
	size_t archive_backlog; /* bytes not yet acknowledged */
	size_t webhook_count;   /* as conf->webhooks */
	const struct webhook_state *webhooks;
};

/* The file's text; malloc'ed. */
char *now_text(struct flow *flow, const struct now_extra *extra);

#endif
