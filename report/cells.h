/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An account of a series in the cells of a table: page and digest say the
 * same figures in the same form.
 */
#ifndef WARMSIDE_REPORT_CELLS_H
#define WARMSIDE_REPORT_CELLS_H

#include "conf/measure.h"
#include "report/account.h"

enum cell_name { BELOW_CELL, ABOVE_CELL, INSIDE_CELL, UNKNOWN_CELL, OUT_CELL, LOWEST_CELL,
		 MEAN_CELL, HIGHEST_CELL, EXCURSIONS_CELL, CELLS };

/* What a cell says, and beside it in second rank its share of the time, or when it was;
 * "–" and "" where there is nothing to say. */
struct figure {
	char text[MEASURE_TEXT], beside[MEASURE_TEXT];
};

/* "below", "out by" */
const char *cell_head(enum cell_name cell);

void series_cells(const struct series_account *series, struct window window, enum units units,
		  struct figure out[CELLS]);

/* It says nothing. */
bool figure_is_none(const struct figure *figure);

#endif
