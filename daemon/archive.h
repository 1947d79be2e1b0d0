/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Closed minutes into one enclosure's round-robin archive: creates, widens
 * and updates the file so that it is exact at every row size.  Only the
 * archivist process calls it, because a full disk or a damaged file may make
 * librrd kill whoever does.
 *
 * A file begins at the last full hour before its first minute; a stretch of
 * which nothing is known is closed by one blank update (U:0:0:0:0); a series
 * the file does not have yet is added at the next full hour, and until then
 * its columns are dropped.
 */
#ifndef WARMSIDE_DAEMON_ARCHIVE_H
#define WARMSIDE_DAEMON_ARCHIVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <time.h>

#include "conf/layout.h"
#include "daemon/archive_head.h"
#include "daemon/reading.h"

/* One minute to be written. */
struct archive_minute {
	int64_t end;                    /* s since the epoch, a multiple of 60 */
	uint32_t series;                /* the set of its series: conf/layout.h */
	const struct minute_cell *cells; /* one a series of the set, in order */
};

enum archive_result {
	ARCHIVE_WRITTEN,
	ARCHIVE_FAILED,         /* the system would not let us: nothing is lost, try again */
	ARCHIVE_DAMAGED,        /* the file cannot be used and should be set aside */
};

/* Writes the minutes, which are in order of time, into the archive at path,
 * which is created when absent with so many rows of each size.  Minutes not
 * later than the file's last update are skipped.  May be called again with
 * the same minutes whatever happened before.  Waits for readers who have the
 * file locked, some seconds at most.  Not ARCHIVE_WRITTEN: why says why.
 *
 * It is archive_begin, archive_write and archive_end in one. */
enum archive_result archive_update(const char *path, const uint64_t rows[ROW_SIZES],
				   const struct archive_minute *minutes, size_t count,
				   char why[ARCHIVE_TEXT]);

/* The same step by step, for many files side by side: so a sync in between
 * brings all their heads, or all their rows, to the disk in one go, and a
 * power cut at any moment leaves each file as it was before or after. */
struct archive_job;

/* Opens the archive and saves its head.  path is copied; rows, minutes and
 * why must stay until archive_end, which frees the job. */
struct archive_job *archive_begin(const char *path, const uint64_t rows[ROW_SIZES],
				  const struct archive_minute *minutes, size_t count,
				  char why[ARCHIVE_TEXT]);

/* Brings the saved head to the disk, now and whenever one is saved again.
 * True when there was one. */
bool archive_sync_head(struct archive_job *job);

void archive_write(struct archive_job *job);

/* Brings what was written to the disk; the saved head is dropped only after. */
void archive_sync(struct archive_job *job);

/* How it stands so far: what failed stays so, and the next steps do nothing. */
enum archive_result archive_result(const struct archive_job *job);

/* Drops the saved head, or puts it back when something has failed. */
enum archive_result archive_end(struct archive_job *job);

/* Puts back the saved head if it can, and renames the file at path to
 * "<path>.damaged-<time>", never over another one.  Returns the new path, which the caller
 * frees, or NULL with why. */
char *archive_set_aside(const char *path, time_t now, char why[ARCHIVE_TEXT]);

#endif
