/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An account of a series in cells; see cells.h.
 */
#include "report/cells.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/gather.h"
#include "report/timeaxis.h"

static const char NONE[] = "–";

const char *cell_head(enum cell_name cell)
{
	static const char *const heads[CELLS] = { "below",  "above", "inside",  "unknown", "out by",
						  "lowest", "mean",  "highest", "excursions" };

	return heads[cell];
}

static void set_time(struct figure *figure, bool present, double seconds, double span)
{
	if (!present || seconds <= 0)
		return;
	show_hours(seconds, figure->text);
	show_share(seconds / span, figure->beside);
}

static void set_extreme(struct figure *figure, const struct series_account *series,
			const struct extreme *extreme, struct window window, enum units units)
{
	if (!series->totals.known)
		return;
	show_value(extreme->value, series->series.quantity, units, figure->text);
	brief_instant(extreme->at, window, figure->beside);
}

static void set_distance(struct figure *figure, const struct series_account *series,
			 enum units units)
{
	char *text = degree_hours_text(series->totals.degree_hours, series->series.quantity, units);

	snprintf(figure->text, sizeof figure->text, "%s", text);
	free(text);
}

void series_cells(const struct series_account *series, struct window window, enum units units,
		  struct figure out[CELLS])
{
	const struct totals *t = &series->totals;
	double span = window.to - window.from;

	for (int cell = 0; cell < CELLS; cell++) {
		memcpy(out[cell].text, NONE, sizeof NONE);
		out[cell].beside[0] = '\0';
	}
	set_time(&out[BELOW_CELL], t->has_band, t->low, span);
	set_time(&out[ABOVE_CELL], t->has_band, t->high, span);
	set_time(&out[INSIDE_CELL], t->has_band, t->inside, span);
	set_time(&out[UNKNOWN_CELL], true, t->unknown, span);
	if (t->has_band && t->low + t->high > 0)
		set_distance(&out[OUT_CELL], series, units);
	set_extreme(&out[LOWEST_CELL], series, &series->least, window, units);
	if (t->known)
		show_value(t->mean, series->series.quantity, units, out[MEAN_CELL].text);
	set_extreme(&out[HIGHEST_CELL], series, &series->most, window, units);
	if (t->has_band && t->known)
		snprintf(out[EXCURSIONS_CELL].text, MEASURE_TEXT, "%zu", series->excursions.count);
}

bool figure_is_none(const struct figure *figure)
{
	return strcmp(figure->text, NONE) == 0;
}
