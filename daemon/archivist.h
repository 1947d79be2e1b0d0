/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The archivist: the process that takes batches of closed minutes from a
 * pipe into the round-robin archives and acknowledges each.  It may be
 * killed at any moment without a minute being lost or a row being wrong.
 */
#ifndef WARMSIDE_DAEMON_ARCHIVIST_H
#define WARMSIDE_DAEMON_ARCHIVIST_H

#include "daemon/batch.h"

/* What it is born with. */
struct archivist {
	const char *state;      /* the state folder */
	int batches;            /* batches are read from here */
	int reports;            /* reports are written here */
	struct in_hand *in_hand; /* shared with the watcher */
	const char *suspect;    /* the name whose file killed two before; NULL for none */
};

/* The whole life of the process, to be called in the child right after the
 * fork: waits for a predecessor to finish, undoes what that one left half
 * done, says hello, works until the pipe of batches ends, and finishes what
 * it has read.  Returns the exit status. */
int archivist_run(const struct archivist *archivist);

#endif
