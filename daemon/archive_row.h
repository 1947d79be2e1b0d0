/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One minute as the text of one librrd update.  Pure.
 */
#ifndef WARMSIDE_DAEMON_ARCHIVE_ROW_H
#define WARMSIDE_DAEMON_ARCHIVE_ROW_H

#include <stddef.h>
#include <stdint.h>

#include "conf/layout.h"
#include "daemon/archive_head.h"
#include "daemon/reading.h"

enum {
	ROW_STAMP = 24,         /* bytes of the time */
	ROW_CELL = 24,          /* bytes of one value with its colon */
};

/* How one data source of the file is filled. */
struct archive_filling {
	int cell;               /* index into a minute's cells, or below 0: it has none */
	enum column column;
};

/* For each data source of the file (head->ds_count of them) what a minute
 * with that set of series (series_in) puts there.  By name, so that neither
 * order nor a place of old days matters. */
void archive_row_plan(const struct archive_head *head, uint32_t set,
		      struct archive_filling *fillings);

/* Writes "<stamp>:<value>:..." with its end at `at`, where ROW_STAMP +
 * ds_count x ROW_CELL bytes do; returns where the text after it may begin.
 * Data sources the minute has no cell for, and all when cells is NULL, are
 * blank: U for the value, 0 for the shares. */
char *archive_row_put(char *at, int64_t stamp, const struct archive_filling *fillings,
		      size_t ds_count, const struct minute_cell *cells);

#endif
