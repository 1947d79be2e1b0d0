/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The small table of an enclosure on the page; see page.h.  On a phone each row
 * becomes a block (page.css); the roles keep it a table for a screen reader.
 */
#include "report/page.h"

#include <stdlib.h>

#include "report/cells.h"
#include "report/gather.h"
#include "report/markup.h"

/* On a phone a cell that says nothing is left out. */
static void write_cell(FILE *out, enum cell_name cell, const struct figure *figure)
{
	fprintf(out, "<td role=\"cell\"%s", figure_is_none(figure) ? " class=\"none\"" : "");
	markup_attribute(out, "data-head", cell_head(cell));
	fputc('>', out);
	markup_text(out, figure->text);
	if (*figure->beside) {
		fputs(" <span>", out);
		markup_text(out, figure->beside);
		fputs("</span>", out);
	}
	fputs("</td>", out);
}

static void write_row(FILE *out, const struct series_account *series, struct window window,
		      enum units units)
{
	struct figure figures[CELLS];
	char *phrase = series_phrase(series->series);

	series_cells(series, window, units, figures);
	fputs("<tr role=\"row\"><th role=\"rowheader\" scope=\"row\">", out);
	markup_text(out, phrase);
	fputs("</th>", out);
	for (int cell = 0; cell < CELLS; cell++)
		write_cell(out, (enum cell_name)cell, &figures[cell]);
	fputs("</tr>\n", out);
	free(phrase);
}

void section_table(FILE *out, const struct account *account, enum units units)
{
	fputs("<table role=\"table\"><caption class=\"unseen\">How long it was where, in hours and minutes and "
	      "as a share of the time</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">"
	      "<th role=\"columnheader\" scope=\"col\">place</th>", out);
	for (int i = 0; i < CELLS; i++)
		fprintf(out, "<th role=\"columnheader\" scope=\"col\">%s</th>", cell_head((enum cell_name)i));
	fputs("</tr></thead>\n<tbody role=\"rowgroup\">\n", out);
	for (size_t i = 0; i < account->count; i++)
		write_row(out, &account->series[i], account->window, units);
	fputs("</tbody></table>\n", out);
}
