/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The backlog's file: what is queued for the archivist outlasts a sudden end
 * of the watcher.  Its form is that of conf/gathered.h.
 */
#ifndef WARMSIDE_DAEMON_BACKLOG_FILE_H
#define WARMSIDE_DAEMON_BACKLOG_FILE_H

#include "daemon/backlog.h"
#include "daemon/journal.h"

struct backlog_file {
	struct journal journal; /* without a path: nothing is kept */
	char *leftover;         /* the file that had what was recovered, until that is
				 * archived or kept anew */
	bool torn;              /* the file lacks what the backlog has */
	bool fresh;             /* something was added since it was written anew */
};

/* Queues what a daemon that ended suddenly has left in the file at path; none
 * there is fine.  Returns the latest end, s since the epoch; 0 for nothing. */
double backlog_file_recover(struct backlog_file *file, const char *path, struct backlog *backlog);

/* The file at path holds what the backlog does from here on (false: it cannot
 * be written yet); to be closed with backlog_file_close, which keeps it. */
bool backlog_file_open(struct backlog_file *file, const char *path, const struct backlog *backlog);
void backlog_file_close(struct backlog_file *file);

/* A minute that has just been queued. */
void backlog_file_add(struct backlog_file *file, const struct backlog *backlog, size_t enclosure,
		      const struct closed_minute *minute);

/* Writes what was added; what the disk did not take is tried again with the
 * next minute.  A file that holds much more than the backlog is written anew. */
void backlog_file_write(struct backlog_file *file, const struct backlog *backlog);

/* Writes the file anew, when much in it is archived; what was recovered and is
 * not kept here is removed when all is archived. */
void backlog_file_renew(struct backlog_file *file, const struct backlog *backlog);

#endif
