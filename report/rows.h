/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Archive + window -> rows: what is known of each series of an enclosure in
 * that time.  Everything the report says of the past is made from these.
 */
#ifndef WARMSIDE_REPORT_ROWS_H
#define WARMSIDE_REPORT_ROWS_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/layout.h"
#include "report/window.h"

/* One archived row, or the part of it that lies in the window.  Of its
 * seconds `ok` are known; of those, `low` were below and `high` above the
 * band in force then.  to - from - ok are unknown. */
struct row {
	double from, to;        /* s since the epoch */
	double ok, low, high;   /* s */
	double out;             /* distance outside the band x time: °C s or % s */
	bool has_value;         /* value, min and max are there */
	double value;           /* mean of the known part, °C or % */
	double min, max;        /* of the minute means in it */
};

struct series_rows {
	struct series series;
	struct row *list;       /* in time order, each beginning where the last one ended */
	size_t count;
};

/* What an enclosure's archive holds of a window. */
struct record {
	char *trouble;          /* one sentence when the archive cannot be read, else NULL */
	bool missing;           /* there is no archive yet */
	char *behind;           /* one sentence when what is not archived yet cannot be read */
	double newest;          /* everything up to here is written; 0 when nothing is */
	int row_size;           /* s: of the rows that reach back to the window's begin */
	size_t impossible;      /* rows whose numbers cannot be, taken as unknown */
	bool shared_out;        /* an edge of the window falls inside a row */
	struct series_rows series[MAX_SERIES];
	bool archived[MAX_SERIES]; /* the archive has a place for it */
	size_t count;
};

/* Reads the finest rows that reach back to the window's begin, and finer ones
 * for the end of the window that they do not fill yet; the newest minutes may
 * still wait for their archive and are taken from where they do.  Time that no row
 * covers (before the archive, after its newest minute, an unreadable file)
 * has no row: it is unknown.  The series are those the configuration knows,
 * in its order, with count 0 rows where the archive has none of them; without
 * any nothing is read, and that is no trouble. */
void record_read(const struct conf *conf, const struct enclosure *enclosure, struct window window,
		 struct record *out);
void record_clear(struct record *record);

/* Cuts the rows to the window; of a row that lies across an edge the seconds
 * are shared out in proportion.  True when one did.  Pure. */
bool rows_cut(struct series_rows *rows, struct window window);

#endif
