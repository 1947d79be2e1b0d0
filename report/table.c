/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text tables; see table.h.
 */
#include "report/table.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "report/fill.h"

enum { COLUMN_GAP = 2 }; /* blanks between two columns */

static const char NONE[] = "–"; /* a cell that says that there is nothing to say */

void table_begin(struct table *table, const struct column_head *heads, size_t columns)
{
	*table = (struct table){ .heads = heads, .columns = columns };
}

void table_inked(struct table *table, enum ink ink, const char *text)
{
	table->cells = must_grow(table->cells, table->count, sizeof *table->cells);
	table->cells[table->count++] = (struct cell){ must_copy(text), ink };
}

void table_cell(struct table *table, const char *text)
{
	table_inked(table, INK_PLAIN, text);
}

/* ---- in columns ------------------------------------------------------------- */

/* A line under way.  Blanks are owed until something follows them, so that no
 * line ends in any. */
struct line {
	const struct terminal *terminal;
	size_t owed;
};

static void print_cell(struct line *line, bool to_right, size_t width, enum ink ink,
		       const char *text)
{
	const struct terminal *terminal = line->terminal;
	size_t blanks = width - terminal_columns(terminal, text);

	if (to_right)
		line->owed += blanks;
	if (*text) {
		fprintf(terminal->file, "%*s%s%s%s", (int)line->owed, "", ink_on(terminal, ink),
			text, ink_off(terminal, ink));
		line->owed = 0;
	}
	line->owed += to_right ? COLUMN_GAP : blanks + COLUMN_GAP;
}

/* cells: one row; NULL for the heads. */
static void print_line(const struct table *table, const size_t width[], const struct cell *cells,
		       const struct terminal *terminal)
{
	struct line line = { terminal, 0 };

	for (size_t i = 0; i < table->columns; i++) {
		const struct column_head *head = &table->heads[i];

		print_cell(&line, head->align == TO_RIGHT, width[i],
			   cells ? cells[i].ink : INK_QUIET, cells ? cells[i].text : head->text);
	}
	fputc('\n', terminal->file);
}

/* The columns' widths, and that of the whole. */
static size_t measure(const struct table *table, const struct terminal *terminal, size_t width[])
{
	size_t whole = 0;

	for (size_t c = 0; c < table->columns; c++) {
		width[c] = terminal_columns(terminal, table->heads[c].text);
		for (size_t i = c; i < table->count; i += table->columns) {
			size_t needed = terminal_columns(terminal, table->cells[i].text);

			if (needed > width[c])
				width[c] = needed;
		}
		whole += width[c] + (c ? COLUMN_GAP : 0);
	}
	return whole;
}

/* ---- folded ----------------------------------------------------------------- */

/* So many columns need no head: names and times at the row's begin. */
static size_t leading(const struct table *table)
{
	size_t count = 0;

	while (count < table->columns && table->heads[count].align == TO_LEFT)
		count++;
	return count;
}

/* A cell behind its head, if any, on one line where that is possible. */
static void fold_cell(struct fill *fill, const char *head, const struct cell *cell)
{
	const struct terminal *terminal = fill->terminal;
	size_t columns = COLUMN_GAP + terminal_columns(terminal, cell->text);

	if (!*cell->text || strcmp(cell->text, NONE) == 0)
		return;
	if (*head)
		columns += terminal_columns(terminal, head) + 1;
	fill_keep(fill, columns);
	fill_text(fill, INK_QUIET, COLUMN_GAP, head);
	fill_text(fill, cell->ink, *head ? 1 : COLUMN_GAP, cell->text);
}

static void fold_row(const struct table *table, const struct cell *cells,
		     const struct terminal *terminal)
{
	size_t lead = leading(table);
	/* A first column without head and text is an indent. */
	size_t indent = lead && !*table->heads[0].text && !*cells[0].text ? COLUMN_GAP : 0;
	struct fill fill = fill_begin(terminal, indent, indent + COLUMN_GAP);

	for (size_t i = 0; i < lead; i++)
		fold_cell(&fill, "", &cells[i]);
	fill_break(&fill);
	for (size_t i = lead; i < table->columns; i++)
		fold_cell(&fill, table->heads[i].text, &cells[i]);
	fill_break(&fill);
}

bool table_fits(const struct table *table, const struct terminal *terminal)
{
	size_t width[TABLE_COLUMNS];

	return !terminal->width || measure(table, terminal, width) <= terminal->width;
}

void table_print(const struct table *table, const struct terminal *terminal)
{
	size_t width[TABLE_COLUMNS];
	bool folds = !table_fits(table, terminal);

	measure(table, terminal, width);
	if (!folds)
		print_line(table, width, NULL, terminal);
	for (size_t i = 0; i < table->count; i += table->columns)
		if (folds)
			fold_row(table, &table->cells[i], terminal);
		else
			print_line(table, width, &table->cells[i], terminal);
}

void table_clear(struct table *table)
{
	for (size_t i = 0; i < table->count; i++)
		free(table->cells[i].text);
	free(table->cells);
	table->cells = NULL;
	table->count = 0;
}
