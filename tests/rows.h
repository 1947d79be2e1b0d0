/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reads rows of an archive back through librrd's own fetch, and minutes made
 * up from a number, for tests of whatever wrote them.
 */
#ifndef WARMSIDE_TESTS_ROWS_H
#define WARMSIDE_TESTS_ROWS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "conf/layout.h"
#include "daemon/reading.h"

struct rows {
	int64_t begin;          /* of the first row */
	int64_t step;
	size_t count, ds_count;
	char **names;
	double *data;           /* count x ds_count */
};

/* Rows that cover [from, to), both multiples of step.  False when librrd
 * will not, or gives another step. */
bool rows_fetch(const char *path, const char *function, int step, int64_t from, int64_t to,
		struct rows *rows);
void rows_free(struct rows *rows);

/* The cell of the row that ends at `end`; exits with a message when there is
 * no such row or data source. */
double rows_at(const struct rows *rows, const char *ds, int64_t end);

/* A cell that depends on nothing but the minute's end and a number: parts of
 * it known or not, below or above; now and then nothing is known. */
struct minute_cell made_up_cell(int64_t end, unsigned number);

/* The mean over made-up or absent minutes of a row, as the archive must have
 * it: NAN when no value of the column is known. */
double column_value(const struct minute_cell *cell, enum column column);

#endif
