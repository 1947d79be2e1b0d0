/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A scan of a real port, from its first question to the end of its plan.
 */
#ifndef WARMSIDE_DAEMON_SCAN_RUN_H
#define WARMSIDE_DAEMON_SCAN_RUN_H

#include "daemon/scan.h"
#include "daemon/scan_wire.h"

/* Who is told, while it runs. */
struct scan_sink {
	void *context;
	/* A pass begins. */
	void (*pass)(void *context, const struct scan *scan, const struct scan_pass *pass);
	/* All is known of somebody. */
	void (*found)(void *context, const struct scan *scan, const struct scan_found *found);
	/* Before each question. */
	void (*progress)(void *context, const struct scan *scan);
};

/* Goes through scan->plan on the port (as a bus of the configuration names
 * it); signals is of await_signals().  What was found when it ended is in
 * scan, however it ended: never SCAN_GOES_ON.  SCAN_NO_PORT: why. */
enum scan_end scan_run(const char *port, struct scan *scan, const struct scan_sink *sink,
		       int signals, char why[PORT_WHY]);

#endif
