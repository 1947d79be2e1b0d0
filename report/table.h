/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text tables for people: columns aligned by what a terminal shows, not by
 * bytes.
 */
#ifndef WARMSIDE_REPORT_TABLE_H
#define WARMSIDE_REPORT_TABLE_H

#include <stddef.h>
#include <stdio.h>

enum { TABLE_COLUMNS = 12 };

struct column_head {
	const char *text;
	enum { TO_LEFT, TO_RIGHT } align;
};

struct table {
	const struct column_head *heads;
	size_t columns;
	char **cells;           /* row by row */
	size_t count;
};

/* heads: columns of them (at most TABLE_COLUMNS), kept by reference. */
void table_begin(struct table *table, const struct column_head *heads, size_t columns);

/* The next cell, row by row; the text is copied. */
void table_cell(struct table *table, const char *text);

/* Heads and rows, two blanks between columns, no trailing blanks. */
void table_print(const struct table *table, FILE *file);
void table_clear(struct table *table);

#endif
