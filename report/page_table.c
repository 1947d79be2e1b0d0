/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The small table of an enclosure on the page; see page.h.  On a phone each row
 * becomes a block (page.css); the roles keep it a table for a screen reader.
 */
#include "report/page.h"

#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/gather.h"
#include "report/html.h"

static const char *const heads[] = { "below", "above", "inside", "unknown", "out by", "lowest",
				     "mean", "highest", "excursions" };

static const char NONE[] = "–"; /* on a phone such a cell is left out */

enum { BELOW_CELL, ABOVE_CELL, INSIDE_CELL, UNKNOWN_CELL, OUT_CELL, LOWEST_CELL, MEAN_CELL,
       HIGHEST_CELL, EXCURSIONS_CELL, CELLS };

/* A cell: what it says, and what is said beside it in second rank. */
static void write_cell(FILE *out, int cell, const char *text, const char *beside)
{
	bool none = strcmp(text, NONE) == 0;

	fprintf(out, "<td role=\"cell\"%s", none ? " class=\"none\"" : "");
	html_attribute(out, "data-head", heads[cell]);
	fputc('>', out);
	html_text(out, text);
	if (beside) {
		fputs(" <span>", out);
		html_text(out, beside);
		fputs("</span>", out);
	}
	fputs("</td>", out);
}

static void write_time(FILE *out, int cell, bool present, double seconds, double span)
{
	char hours[MEASURE_TEXT], share[MEASURE_TEXT];

	if (!present || seconds <= 0)
		write_cell(out, cell, NONE, NULL);
	else
		write_cell(out, cell, show_hours(seconds, hours), show_share(seconds / span, share));
}

static void write_extreme(FILE *out, int cell, const struct series_account *series,
			  const struct extreme *extreme, struct window window, enum units units)
{
	char value[MEASURE_TEXT], at[TICK_TEXT];

	if (series->totals.known)
		write_cell(out, cell,
			   show_value(extreme->value, series->series.quantity, units, value),
			   brief_instant(extreme->at, window, at));
	else
		write_cell(out, cell, NONE, NULL);
}

static void write_row(FILE *out, const struct series_account *series, struct window window,
		      enum units units)
{
	const struct totals *t = &series->totals;
	double span = window.to - window.from;
	char *phrase = series_phrase(series->series);
	char *distance = degree_hours_text(t->degree_hours, series->series.quantity, units);
	char *count = must_print("%zu", series->excursions.count);
	char mean[MEASURE_TEXT];

	fputs("<tr role=\"row\"><th role=\"rowheader\" scope=\"row\">", out);
	html_text(out, phrase);
	fputs("</th>", out);
	write_time(out, BELOW_CELL, t->has_band, t->low, span);
	write_time(out, ABOVE_CELL, t->has_band, t->high, span);
	write_time(out, INSIDE_CELL, t->has_band, t->inside, span);
	write_time(out, UNKNOWN_CELL, true, t->unknown, span);
	write_cell(out, OUT_CELL, t->has_band && t->low + t->high > 0 ? distance : NONE, NULL);
	write_extreme(out, LOWEST_CELL, series, &series->least, window, units);
	write_cell(out, MEAN_CELL,
		   t->known ? show_value(t->mean, series->series.quantity, units, mean) : NONE, NULL);
	write_extreme(out, HIGHEST_CELL, series, &series->most, window, units);
	write_cell(out, EXCURSIONS_CELL, t->has_band && t->known ? count : NONE, NULL);
	fputs("</tr>\n", out);
	free(phrase);
	free(distance);
	free(count);
}

void section_table(FILE *out, const struct account *account, enum units units)
{
	fputs("<table role=\"table\"><caption class=\"unseen\">How long it was where, in hours and minutes and "
	      "as a share of the time</caption>\n<thead role=\"rowgroup\"><tr role=\"row\">"
	      "<th role=\"columnheader\" scope=\"col\">place</th>", out);
	for (int i = 0; i < CELLS; i++)
		fprintf(out, "<th role=\"columnheader\" scope=\"col\">%s</th>", heads[i]);
	fputs("</tr></thead>\n<tbody role=\"rowgroup\">\n", out);
	for (size_t i = 0; i < account->count; i++)
		write_row(out, &account->series[i], account->window, units);
	fputs("</tbody></table>\n", out);
}
