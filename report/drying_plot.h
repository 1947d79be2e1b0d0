/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The plot of an enclosure's dryings laid over each other, as marks on a sheet: from
 * the misting on, with the curves fitted to them and their median, over band and limit.
 *
 * Drawn is the vapour, as the humidity it would be at the mean temperature of its drying:
 * so that the heating, which moves the humidity of the same air, does not show.
 */
#ifndef WARMSIDE_REPORT_DRYING_PLOT_H
#define WARMSIDE_REPORT_DRYING_PLOT_H

#include "report/drying_summary.h"
#include "report/sheet.h"

enum { DRYING_BESIDE = 6 };

/* What is written beside the plot, at the height of what it names. */
struct beside {
	double y;
	char *text;             /* malloc'ed */
	const struct font *font;
};

struct drying_plot {
	const struct dryings *dryings;
	const struct drying_summary *summary;
	const struct bins *bins;
	struct sheet *sheet;
	double left, top, width, height; /* px */
	double hours;           /* of the axis */
	double low, high;       /* %: of the axis */
	bool has_band, has_limit;
	struct range day, night; /* % */
	double limit;           /* %: the lower one */
	struct beside beside[DRYING_BESIDE];
	size_t beside_count;
};

/* Where its axes reach, from all else; the sheet is not needed. */
void drying_plot_fit(struct drying_plot *plot);

void drying_plot_paint(struct drying_plot *plot);

#endif
