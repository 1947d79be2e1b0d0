/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An archive gets as many rows of each size as the configuration asks for by
 * now.  No row that both have changes by a bit.  Where more are asked for
 * than were kept, the file says since when they are (KEPT_SINCE), so that the
 * report takes longer rows for what is older.  Only the archivist calls it.
 */
#ifndef WARMSIDE_DAEMON_ARCHIVE_RESIZE_H
#define WARMSIDE_DAEMON_ARCHIVE_RESIZE_H

#include "conf/layout.h"
#include "daemon/archive_head.h"

/* Whether the archive with that head has so many rows of each size. */
bool archive_rows_fit(const struct archive_head *head, const uint64_t rows[ROW_SIZES]);

/* The new file is made beside the old one, brought to the disk and renamed in
 * its place: whatever happens meanwhile, a whole archive is there under its
 * name.  What a sudden end leaves beside it is named as librrd names its
 * unfinished files, and goes with those at the archivist's next start.  False
 * with why: the archive is as it was. */
bool archive_resize(const char *path, const uint64_t rows[ROW_SIZES],
				  char why[ARCHIVE_TEXT]);

#endif
