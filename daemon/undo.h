/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The undo file: the heads of the archives that are about to be updated, so
 * that updates cut short can be undone.  One file for all that are written
 * side by side, overwritten in place: so a batch costs the disk one block or
 * a few and no new file.
 *
 * It holds a start (magic, bytes that follow, their sum) and then for each
 * archive its name, the size of its head and the head.  One that is torn was
 * being written when no archive had been touched yet, and holds nothing: what could
 * not be put back, and stays, is never overwritten, but goes into a new file.
 */
#ifndef WARMSIDE_DAEMON_UNDO_H
#define WARMSIDE_DAEMON_UNDO_H

#include <stdbool.h>
#include <stddef.h>

#include "daemon/archive_head.h"

struct undo {
	char *folder, *path;    /* with the archives; of the file */
	int fd;
	unsigned char *bytes;   /* what the file is to hold, from its start on */
	size_t used, room;
	size_t old;             /* bytes that the file holds already */
	bool unsure;            /* what is on the disk: it could not be written last time */
};

/* Opens the undo file of the folder, or makes it; what it holds is there to be put
 * back.  False with why.  To be closed either way; the file stays. */
bool undo_open(struct undo *undo, const char *folder, char why[ARCHIVE_TEXT]);
void undo_close(struct undo *undo);

/* The name of the archive number i that it holds; NULL when there are not so many. */
const char *undo_name(const struct undo *undo, size_t i);

/* One of that name that is in already is replaced. */
void undo_add(struct undo *undo, const char *name, const struct archive_head *head);

/* Takes the archive's head out, if it is in; quick for the one added last. */
void undo_forget(struct undo *undo, const char *name);

/* Puts the head of the archive back, if there is one here, and takes it out.
 * False when that could not be done: the archive must not be updated then. */
bool undo_put_back(struct undo *undo, const char *name, char why[ARCHIVE_TEXT]);

/* The file holds what was added and not taken out from here on; synced: on the
 * disk, too.  False with why: then it holds what it did before, or nothing. */
bool undo_write(struct undo *undo, bool synced, char why[ARCHIVE_TEXT]);

#endif
