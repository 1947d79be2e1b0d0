/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text tables for people: columns aligned by what a terminal shows, not by
 * bytes or codes for colours, and folded where they do not fit.
 */
#ifndef WARMSIDE_REPORT_TABLE_H
#define WARMSIDE_REPORT_TABLE_H

#include <stddef.h>

#include "report/terminal.h"

enum { TABLE_COLUMNS = 12 };

struct column_head {
	const char *text;
	enum { TO_LEFT, TO_RIGHT } align;
};

struct cell {
	char *text;
	enum ink ink;
};

struct table {
	const struct column_head *heads;
	size_t columns;
	struct cell *cells;     /* row by row */
	size_t count;
};

/* heads: columns of them (at most TABLE_COLUMNS), kept by reference. */
void table_begin(struct table *table, const struct column_head *heads, size_t columns);

/* The next cell, row by row; the text is copied. */
void table_cell(struct table *table, const char *text);
void table_inked(struct table *table, enum ink ink, const char *text);

/* Whether it need not be folded. */
bool table_fits(const struct table *table, const struct terminal *terminal);

/* Heads and rows, two blanks between columns, no trailing blanks.  A table that
 * is wider than the terminal is folded: of each row its first columns that are
 * TO_LEFT stand on a line, and indented below them the others, each behind its
 * head; cells that are empty or a dash are left out. */
void table_print(const struct table *table, const struct terminal *terminal);
void table_clear(struct table *table);

#endif
