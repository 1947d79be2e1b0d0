/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * now.json: the latest readings, how every place stands, and the counters;
 * renewed every few seconds for whoever looks.
 */
#ifndef WARMSIDE_DAEMON_NOWFILE_H
#define WARMSIDE_DAEMON_NOWFILE_H

#include "daemon/flow.h"

/* What the flow does not know about itself. */
struct now_extra {
	bool running;           /* a daemon writes this (and not a replay) */
	size_t bus_count;       /* as conf->buses */
	const bool *bus_open;
	size_t archive_backlog; /* bytes not yet acknowledged */
};

/* The file's text; malloc'ed. */
char *now_text(struct flow *flow, const struct now_extra *extra);

#endif
