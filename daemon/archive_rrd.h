/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The three librrd calls the daemon makes, with what librrd 1.7.2 leaves to
 * its callers: readers that have the file locked are waited for, errors of
 * before are cleared, and every failure gets a sentence.
 */
#ifndef WARMSIDE_DAEMON_ARCHIVE_RRD_H
#define WARMSIDE_DAEMON_ARCHIVE_RRD_H

#include <stdbool.h>
#include <time.h>

#include "daemon/archive_head.h"

struct rrd_call {
	const char *path;
	int count;              /* of the arguments */
	const char **arguments; /* DS: and RRA: for creating, DS: for widening, else rows */
	time_t start;           /* for creating: the file's first last update */
	char *why;              /* ARCHIVE_TEXT bytes */
};

/* Each returns false with why.  A new file is synced, its folder too, since
 * librrd syncs nothing and a power cut would leave it empty. */
bool archive_rrd_create(const struct rrd_call *call);
bool archive_rrd_update(const struct rrd_call *call);

/* Adds data sources; true also when librrd only says it has: on a full disk
 * it does, and leaves the file as it was. */
bool archive_rrd_widen(const struct rrd_call *call);

/* For a call that failed without a reason: how much of the disk is free. */
void archive_rrd_explain(const struct rrd_call *call);

#endif
