/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An archive under test and what was written to it: made-up minutes, kept
 * beside the file, that every row of every size is held against.
 */
#ifndef WARMSIDE_TESTS_ARCHIVE_TRUTH_H
#define WARMSIDE_TESTS_ARCHIVE_TRUTH_H

#include <stddef.h>
#include <stdint.h>

#include "conf/layout.h"
#include "daemon/archive.h"
#include "daemon/batch.h"

enum { TRUTH_MOST = 20000, DAYS_60 = 4 * 1440, WARM = 1, COOL = 2, BOTH = 3 };

/* 2026-01-05 00:00 UTC */
static const int64_t midnight = 1767571200;

/* Rows kept of each size, and the two series that WARM and COOL mean. */
extern const uint64_t truth_rows[ROW_SIZES];
extern const struct series warm_t, cool_h;

struct truth {
	char *folder, *path;    /* a new folder; the archive in it */
	char why[ARCHIVE_TEXT];
	struct {
		int64_t end;
		int which;      /* WARM, COOL or BOTH */
		struct minute_cell cells[2];
	} written[TRUTH_MOST];
	size_t count;
	size_t near;            /* where the last look-up ended */
};

/* Of each test: *state is a struct truth with nothing written. */
int truth_set_up(void **state);
int truth_tear_down(void **state);
#define with_truth(test) cmocka_unit_test_setup_teardown(test, truth_set_up, truth_tear_down)

/* Adds minutes [from, to) to what will be written. */
void truth_plan(struct truth *t, int64_t from, int64_t to, int which);

/* Writes the planned minutes number [from, to); or all, which must succeed. */
enum archive_result truth_write(struct truth *t, size_t from, size_t to);
void truth_write_all(struct truth *t);

/* The cell of a minute, or NULL when it was not written or not yet in the
 * file (a place added counts from `since`). */
const struct minute_cell *truth_cell(struct truth *t, int64_t end, int which, int64_t since);

/* Compares every row of one series in [from, to), which are full hours. */
void truth_check(struct truth *t, int64_t from, int64_t to, int which, int64_t since);

/* A file's bytes; the caller frees. */
char *truth_contents(const char *of, size_t *size);

#endif
