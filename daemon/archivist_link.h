/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The archivist's process and its two pipes, as the watcher holds them:
 * birth, death, how soon the next one is born, and which file to blame.
 */
#ifndef WARMSIDE_DAEMON_ARCHIVIST_LINK_H
#define WARMSIDE_DAEMON_ARCHIVIST_LINK_H

#include <stdbool.h>
#include <sys/types.h>

#include "daemon/batch.h"

enum {
	BATCH_MOST = 1048576,   /* bytes of one batch, its head too: some hundred minutes a
				 * file make a file's fixed costs small */
	DEATHS_AT_ONCE = 3,     /* in a row, nothing done, before the next birth waits */
};

struct archivist_link {
	pid_t pid;              /* 0: none */
	int batches, reports;   /* -1: none */
	bool useful;            /* it has acknowledged something; for the owner to set */
	unsigned deaths;        /* in a row, of archivists that were not useful */
	double due;             /* monotonic, s: the next birth */
	struct in_hand *in_hand; /* shared with the archivist */
	char crasher[ENCLOSURE_NAME]; /* whose file was in hand at the last crash */
	int crashes;            /* with that one in hand */
	struct report report;   /* half read */
	size_t report_size;
};

void archivist_link_init(struct archivist_link *link);

/* Closes the pipes, at the sound of which the archivist ends by itself. */
void archivist_link_end(struct archivist_link *link);

/* Gives birth to an archivist.  A file that two in a row have crashed with in
 * hand is set aside by this one.  False with errno: not now, link->due is later. */
bool archivist_link_start(struct archivist_link *link, const char *state, double now);

/* No more batches: the archivist ends after those it has. */
void archivist_link_finish(struct archivist_link *link);

/* The next whole report; false when there is none now. */
bool archivist_link_read(struct archivist_link *link, struct report *report);

/* To be called after the last report is read: says in why how it ended, and
 * when the next one is due: at once, or after a pause that grows while they
 * die without having been useful. */
void archivist_link_died(struct archivist_link *link, int status, double now,
			 char why[ARCHIVE_TEXT]);

#endif
