/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text tables; see table.h.
 */
#include "report/table.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>

#include "conf/memory.h"

/* Decodes one character and moves on behind it. */
static uint32_t next_character(const unsigned char **at)
{
	uint32_t code = *(*at)++;
	int more = code >= 0xf0 ? 3 : code >= 0xe0 ? 2 : code >= 0xc0 ? 1 : 0;

	if (more)
		code &= 0x3fu >> more;
	while (more-- > 0 && (**at & 0xc0) == 0x80)
		code = code << 6 | (*(*at)++ & 0x3fu);
	return code;
}

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
	const unsigned char *at = (const unsigned char *)text;
	size_t width = 0;

	while (*at)
		width += character_width(next_character(&at));
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

static void print_cell(const struct table *table, size_t column, const char *text, size_t width,
		       FILE *file)
{
	int blanks = (int)(width - text_width(text));
	bool last = column + 1 == table->columns;

	if (table->heads[column].align == TO_RIGHT)
		fprintf(file, "%*s%s", blanks, "", text);
	else
		fprintf(file, "%s%*s", text, last ? 0 : blanks, "");
	fputs(last ? "\n" : "  ", file);
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
	for (size_t i = 0; i < table->columns; i++)
		print_cell(table, i, table->heads[i].text, width[i], file);
	for (size_t i = 0; i < table->count; i++)
		print_cell(table, i % table->columns, table->cells[i], width[i % table->columns],
			   file);
}

void table_clear(struct table *table)
{
	for (size_t i = 0; i < table->count; i++)
		free(table->cells[i]);
	free(table->cells);
	table->cells = NULL;
	table->count = 0;
}
