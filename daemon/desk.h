/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the archivist has before it: the batch it works on, and the undo file.
 */
#ifndef WARMSIDE_DAEMON_DESK_H
#define WARMSIDE_DAEMON_DESK_H

#include <stdbool.h>
#include <stddef.h>

#include "daemon/archivist.h"
#include "daemon/undo.h"

/* A batch as it was read. */
struct batch {
	struct batch_head head;
	unsigned char *bytes;
	size_t size, room;      /* bytes that came, bytes there are room for */
	double resize_at, resize_until; /* monotonic s: files get other rows only between them */
};

struct desk {
	const struct archivist *a;
	struct undo undo;
	struct batch batch;
};

/* A report to the watcher; one that is gone reads nothing. */
void desk_tell(const struct desk *desk, const struct report *report);

/* Whose file would be the cause if the archivist died now; "": nobody's. */
void desk_take_in_hand(const struct desk *desk, const char *name);

/* Sets the enclosure's file aside and says so; what can still be undone is
 * undone, for whoever mends the file.  False with why. */
bool desk_set_aside(struct desk *desk, const char *name, char why[ARCHIVE_TEXT]);

/* Writes the batch that was read into its archives, and reports. */
void desk_work(struct desk *desk);

#endif
