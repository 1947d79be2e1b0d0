/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text tables; see table.h.
 */
#include "report/table.h"

#include <stdlib.h>

#include "conf/memory.h"
#include "report/terminal.h"

enum { COLUMN_GAP = 2 }; /* blanks between two columns */

void table_begin(struct table *table, const struct column_head *heads, size_t columns)
{
	*table = (struct table){ .heads = heads, .columns = columns };
}

void table_cell(struct table *table, const char *text)
{
	table->cells = must_resize(table->cells, table->count + 1, sizeof *table->cells);
	table->cells[table->count++] = must_copy(text);
}

/* Blanks are owed until something follows them, so that no line ends in any. */
static void print_cell(struct column_head head, const char *text, size_t width, size_t *owed,
		       FILE *file)
{
	size_t blanks = width - text_width(text);

	if (head.align == TO_RIGHT)
		*owed += blanks;
	if (*text) {
		fprintf(file, "%*s%s", (int)*owed, "", text);
		*owed = 0;
	}
	*owed += head.align == TO_RIGHT ? COLUMN_GAP : blanks + COLUMN_GAP;
}

static void print_line(const struct table *table, const size_t width[], const char *const *cells,
		       FILE *file)
{
	size_t owed = 0;

	for (size_t i = 0; i < table->columns; i++)
		print_cell(table->heads[i], cells ? cells[i] : table->heads[i].text, width[i], &owed,
			   file);
	fputc('\n', file);
}

void table_print(const struct table *table, FILE *file)
{
	size_t width[TABLE_COLUMNS];

	for (size_t i = 0; i < table->columns; i++)
		width[i] = text_width(table->heads[i].text);
	for (size_t i = 0; i < table->count; i++) {
		size_t needed = text_width(table->cells[i]);

		if (needed > width[i % table->columns])
			width[i % table->columns] = needed;
	}
	print_line(table, width, NULL, file);
	for (size_t i = 0; i < table->count; i += table->columns)
		print_line(table, width, (const char *const *)&table->cells[i], file);
}

void table_clear(struct table *table)
{
	for (size_t i = 0; i < table->count; i++)
		free(table->cells[i]);
	free(table->cells);
	table->cells = NULL;
	table->count = 0;
}
