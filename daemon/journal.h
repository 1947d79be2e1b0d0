/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A file that records are appended to as they come, so that a killed process
 * leaves them to the next one.  Nothing is synced: a power cut may take them.
 * What the disk does not take is told once and goes on without.
 */
#ifndef WARMSIDE_DAEMON_JOURNAL_H
#define WARMSIDE_DAEMON_JOURNAL_H

#include <stdbool.h>
#include <stddef.h>

#include "daemon/log.h"

struct journal {
	char *path;
	int fd;                 /* -1 while there is none */
	size_t size;            /* bytes of the file that are good */
	unsigned char *waiting; /* not written yet */
	size_t used, room;
	bool anew;
	struct log_state failing;
};

/* A journal at path, which is copied; what a file there holds is written over.
 * Ended by journal_close, which keeps the file. */
void journal_open(struct journal *journal, const char *path);
void journal_close(struct journal *journal);

/* Room for so many bytes more, which the caller fills. */
unsigned char *journal_add(struct journal *journal, size_t size);

/* What is added from here on takes the place of all that the file holds, with
 * the next journal_write and in one step; what was not written is forgotten. */
void journal_anew(struct journal *journal);

/* Writes what was added.  False when the disk did not take it, or the file
 * that had what came before is gone: that is no longer kept then. */
bool journal_write(struct journal *journal);

#endif
