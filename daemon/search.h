/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is on a port nobody has described: listens for a board that prints
 * lines, else asks every Modbus address.
 */
#ifndef WARMSIDE_DAEMON_SEARCH_H
#define WARMSIDE_DAEMON_SEARCH_H

#include "daemon/listen.h"
#include "daemon/scan_run.h"

/* Zero at the beginning; freed with search_free. */
struct search {
	struct heard heard;     /* heard.guessed: a board is there, and the scan left out */
	struct scan scan;
	bool talks;             /* something is said that nobody asked for or understands */
};

void search_free(struct search *search);

/* The keeper looks on through sink; scan.plan.one_setting may be set before. */
enum scan_end search_run(const char *port, struct search *search, const struct scan_sink *sink,
			 int signals, char why[PORT_WHY]);

/* A sentence when the port, as a bus names it, cannot be had: it is not there,
 * another program holds it, or permission fails.  malloc'ed, NULL when
 * nothing is in the way.  The port is not opened. */
char *search_hindrance(const char *port);

#endif
