/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text tables; see table.h.
 */
#include "report/table.h"

#include <stdint.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "conf/utf8.h"

enum { COLUMN_GAP = 2 }; /* blanks between two columns */

static size_t character_width(uint32_t code)
{
	static const struct {
		uint32_t first, last;
		size_t width;
	} ranges[] = {
		{ 0x0300, 0x036f, 0 }, { 0x200b, 0x200f, 0 }, { 0xfe00, 0xfe0f, 0 },
		{ 0x1100, 0x115f, 2 }, { 0x2e80, 0xa4cf, 2 }, { 0xac00, 0xd7a3, 2 },
		{ 0xf900, 0xfaff, 2 }, { 0xfe30, 0xfe6f, 2 }, { 0xff00, 0xff60, 2 },
		{ 0xffe0, 0xffe6, 2 }, { 0x1f300, 0x1faff, 2 }, { 0x20000, 0x3fffd, 2 },
	};

	for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++)
		if (code >= ranges[i].first && code <= ranges[i].last)
			return ranges[i].width;
	return 1;
}

size_t text_width(const char *text)
{
	size_t width = 0;

	while (*text)
		width += character_width(utf8_take(&text));
	return width;
}

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
