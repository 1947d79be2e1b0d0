/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The head of a round-robin archive: everything before its rows.  Read and
 * checked here before librrd may open the file, because librrd 1.7.2 dies
 * of some damaged heads; and saved beside the file before each batch, so
 * that an update cut short can be undone.  No librrd call is made here.
 *
 * Why undoing the head is enough: librrd moves its row pointers before its
 * time, so a kill between the two shifts rows against time; the rows written
 * since lie at and after the saved pointers and are simply written again.
 */
#ifndef WARMSIDE_DAEMON_ARCHIVE_HEAD_H
#define WARMSIDE_DAEMON_ARCHIVE_HEAD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { ARCHIVE_TEXT = 256 };    /* bytes of a sentence that says why, its end included */

enum head_state {
	HEAD_GOOD,
	HEAD_ABSENT,            /* there is no such file */
	HEAD_DAMAGED,           /* the file is no archive of ours, or no longer */
	HEAD_UNREADABLE,        /* the system would not let us; worth trying again */
};

struct archive_head {
	unsigned char *bytes;
	size_t size;
	int64_t last;           /* s since the epoch: the file's last update */
	size_t ds_count;
};

/* Reads and checks the head of the archive at path.  HEAD_GOOD: *head is
 * filled, and freed by archive_head_free.  HEAD_DAMAGED and HEAD_UNREADABLE:
 * why says what is wrong.  Holes in the file are filled here, because
 * librrd's writing into one on a full disk kills the process. */
enum head_state archive_head_read(const char *path, struct archive_head *head,
				  char why[ARCHIVE_TEXT]);
void archive_head_free(struct archive_head *head);

/* Name of data source i < ds_count; lives as long as *head. */
const char *archive_head_ds(const struct archive_head *head, size_t i);

/* Saves the head beside the archive as "<path>.head".  False: why says why. */
bool archive_head_save(const char *path, const struct archive_head *head,
		       char why[ARCHIVE_TEXT]);

/* Removes "<path>.head"; none there is fine. */
bool archive_head_drop(const char *path, char why[ARCHIVE_TEXT]);

/* Puts a saved head back, if there is one and it is whole and of this very
 * archive, and removes it.  False when that could not be done: the archive
 * must not be updated then. */
bool archive_head_restore(const char *path, char why[ARCHIVE_TEXT]);

#endif
