/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For tests of the report: a small configuration built by hand, and
 * round-robin files written minute by minute as the layout says, with the
 * very minutes kept beside them to compare with.
 */
#ifndef WARMSIDE_TESTS_ARCHIVE_MAKER_H
#define WARMSIDE_TESTS_ARCHIVE_MAKER_H

#include "conf/layout.h"
#include "conf/model.h"

/* An enclosure "T3" with a warm side (temperature) and a cool side (both),
 * and a room; few rows, so that tests reach all sizes: 6 h of minutes, 2 d of
 * ten minutes, 10 d of hours. */
struct tiny {
	struct conf conf;
	struct bus bus;         /* every 60 s */
	struct probe probes[3];
	struct species species;
	struct enclosure enclosures[2];
	char *folder;           /* the state folder, made anew */
};

void tiny_begin(struct tiny *tiny);
void tiny_end(struct tiny *tiny); /* removes the folder too */

/* What a minute of a series holds, as shares 0..1. */
struct minute {
	double value, low, high, ok, out;
};

/* minutes: count of them for each of `series`, minute by minute; the first
 * one begins at `begin`, a full hour. */
void archive_make(const struct conf *conf, const char *enclosure, const struct series *series,
		  size_t series_count, long begin, const struct minute *minutes, size_t count);

/* Adds the columns of one more series to an existing archive. */
void archive_widen(const struct conf *conf, const char *enclosure, struct series series);

/* Goes on writing an archive that is there. */
void archive_go_on(const struct conf *conf, const char *enclosure, size_t series_count,
		   long begin, const struct minute *minutes, size_t count);

#endif
