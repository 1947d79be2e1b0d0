/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Archives without the archivist: files of the same layout, filled by nothing
 * but librrd, for benchmarks to compare with.
 */
#ifndef WARMSIDE_TESTS_BARE_ARCHIVE_H
#define WARMSIDE_TESTS_BARE_ARCHIVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "conf/layout.h"
#include "daemon/archive_row.h"
#include "daemon/reading.h"

enum { BARE_MOST = 511 };       /* minutes that the archivist hands to librrd at once */

struct bare {
	char *path;
	size_t series_count;
	struct series series[MAX_SERIES];
	struct archive_filling fillings[MAX_SERIES * COLUMNS];
	int64_t last;           /* s: of the last row written */
	char *room;             /* for the texts of one call */
	bool printed;           /* by printf, as a plain program would, not by our own row writer */
};

/* Takes the path over.  Freed by bare_free. */
void bare_init(struct bare *bare, char *path, const struct conf *conf,
	       const struct enclosure *enclosure);
void bare_free(struct bare *bare);

/* Makes the file, which begins at that full hour (s since the epoch). */
bool bare_create(struct bare *bare, const struct archive_rows *rows, int64_t begin);

/* One call of librrd with the minutes that follow `begin`, at most BARE_MOST;
 * each has series_count cells.  What is wholly unknown is passed over, and
 * closed by one blank row, as in the archivist. */
bool bare_write(struct bare *bare, int64_t begin, const struct minute_cell *cells, size_t minutes);

/* Means of (from, until] at that row size in s: *rows of them, *columns wide,
 * for the caller to free.  NULL when the file does not have just those. */
double *archive_means(const char *path, unsigned long step, int64_t from, int64_t until,
		      size_t *rows, size_t *columns);

#endif
