/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One archive in a folder of its own, the made-up minutes written to it, and
 * the rows that must come of them; for the tests of archive.c.
 */
#ifndef WARMSIDE_TESTS_ARCHIVE_CASE_H
#define WARMSIDE_TESTS_ARCHIVE_CASE_H

#include <stdint.h>

#include "daemon/archive.h"

enum {
	CASE_MOST = 20000,              /* minutes */
	CASE_ROWS = 4 * 1440,           /* of 60 s that the file keeps */
	WARM = 1, COOL = 2, BOTH = 3,   /* warm_side temperature, cool_side humidity */
};

struct archive_case {
	char *folder, *path;
	char why[ARCHIVE_TEXT];
	/* What was, or is to be, written. */
	struct {
		int64_t end;
		int which;              /* WARM, COOL or BOTH */
		struct minute_cell cells[2];
	} minutes[CASE_MOST];
	size_t count;
};

extern struct archive_case it;

/* 2026-01-05 00:00 UTC */
enum { midnight = 1767571200 };

extern const uint64_t case_rows[ROW_SIZES];
extern const struct series warm_t, cool_h;

/* For cmocka: an empty folder, and all of it away again. */
int case_set_up(void **state);
int case_tear_down(void **state);

/* Adds minutes [from, to) to what is to be written. */
void case_plan(int64_t from, int64_t to, int which);

/* Writes minutes number [from, to) of the plan, or all of it, which must succeed. */
enum archive_result case_write(size_t from, size_t to);
void case_write_all(void);

/* The planned cell of WARM or COOL, or NULL when there is none, or none yet
 * (a place added counts from `since`). */
const struct minute_cell *case_cell(int64_t end, int which, int64_t since);

/* Fails unless every row of WARM or COOL in [from, to), which are full hours,
 * is what the plan makes it. */
void case_check(int64_t from, int64_t to, int which, int64_t since);

/* A whole file; the caller frees. */
char *case_contents(const char *path, size_t *size);

#endif
