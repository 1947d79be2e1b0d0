/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The head of a round-robin archive: everything before its rows.  Read and
 * checked here before librrd may open the file, because librrd 1.7.2 dies
 * of some damaged heads; and kept before each batch (daemon/undo.h), so that
 * an update cut short can be undone.  No librrd call is made here.
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

/* Writes the head that the archive at path had over the one it has, and brings it to
 * the disk, because the saved one is dropped next.  Bytes that are no
 * head, an archive that is gone, another one, or one that is older than the head
 * are left alone: true.  False when it could not be done: why says why. */
bool archive_head_put(const char *path, const unsigned char *bytes, size_t size,
		      char why[ARCHIVE_TEXT]);

#endif
