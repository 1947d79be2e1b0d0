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

/* Writing minutes into an archive, step by step, because many files are
 * written side by side and between two steps something is done for all of
 * them: their heads are kept in one undo file, their rows brought to the disk. */
struct archive_job;

/* Opens the archive at path, which is created when absent with so many rows
 * of each size, and widened when the next minute needs it.  The minutes are
 * in order of time; those not later than the file's last update are skipped.
 * May be called again with the same minutes whatever happened before, once
 * the head is put back.  path is copied; rows, minutes and why must stay until
 * archive_end, which frees the job. */
struct archive_job *archive_begin(const char *path, const uint64_t rows[ROW_SIZES],
				  const struct archive_minute *minutes, size_t count,
				  char why[ARCHIVE_TEXT]);

/* The head that an update cut short must be undone with; NULL: archive_write
 * will not touch the file.  Lives as long as the job. */
const struct archive_head *archive_touches(const struct archive_job *job);

/* Writes minutes, and returns how many are dealt with.  They are not all when
 * the file has to be widened first: the rest is for another job.  Waits for
 * readers who have the file locked, some seconds at most. */
size_t archive_write(struct archive_job *job);

/* Brings what was written to the disk. */
void archive_sync(struct archive_job *job);

/* Makes it fail, for a reason that lies elsewhere. */
void archive_refuse(struct archive_job *job, const char *why);

/* How it stands so far: what failed stays so, why says why, and the next steps
 * do nothing.  A file that was touched is then to be given its head back. */
enum archive_result archive_result(const struct archive_job *job);

void archive_end(struct archive_job *job);

/* Renames the file at path to
 * "<path>.damaged-<time>", never over another one.  Returns the new path, which the caller
 * frees, or NULL with why. */
char *archive_set_aside(const char *path, time_t now, char why[ARCHIVE_TEXT]);

#endif
