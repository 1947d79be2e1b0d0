/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The dryings of an enclosure laid over each other; see drying_plot.h.
 */
#include "report/drying_plot.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "report/drying_view.h"
#include "report/paint.h"
#include "report/panel.h"

enum {
	CURVE_STEPS = 200,      /* of a curve over the plot's width */
	LABEL_STEP = 14,        /* px between the baselines of two labels beside the plot */
	HOURS_APART = 60,       /* px between two ticks */
};

static const double MOST_HOURS = 7 * 24;
static const double LONGER = 1.5;       /* than the median drying is the axis at most */
static const double NEAR_LIMIT = 0.35;  /* of the axis: a limit nearer than that is drawn */
static const double LEAST_HOURS = 3;
static const double BEYOND = 1.15;     /* of the hours to an edge the axis goes on */

static const struct stroke RIBBON = { .colour = COLOUR_RIBBON, .opacity = 1 };
static const struct stroke SOMETIMES = { .colour = COLOUR_RIBBON, .opacity = 0.5 };
static const struct stroke GRID = { .colour = "000000", .opacity = 0.07, .width = 1 };
static const struct stroke LIMIT = { .colour = COLOUR_LIMIT, .opacity = 1, .width = 1 };
static const struct stroke MEASURED = { .colour = COLOUR_INK, .opacity = 0.34, .width = 0.8,
				     .round = true };
static const struct stroke FIT = { .colour = COLOUR_INK, .opacity = 0.45, .width = 0.9, .dash = 1.5,
				.gap = 3 };
static const struct stroke MEDIAN_RIM = { .colour = COLOUR_PAGE, .opacity = 0.85, .width = 6,
				       .round = true };
static const struct stroke MEDIAN = { .colour = COLOUR_INK, .opacity = 1, .width = 2.6,
				   .round = true };
static const struct font STRONG = { .size = 12, .bold = true, .colour = COLOUR_INK };
static const struct font LABEL = { .size = 11, .colour = COLOUR_INK, .rim = COLOUR_PAGE };

static double x_of(const struct drying_plot *plot, double hours)
{
	return plot->left + hours / plot->hours * plot->width;
}

static double y_of(const struct drying_plot *plot, double percent)
{
	return plot->top + (plot->high - percent) / (plot->high - plot->low) * plot->height;
}

/* ---- what is drawn ------------------------------------------------------------------ */

/* The curve of a fit, so many hours after the misting. */
static double fitted_at(const struct drying *d, double hours)
{
	double since = hours - (d->from - d->at) / 3600;
	double vapour = d->floor + d->drop * exp(-since / d->time_constant);

	return air_humidity_at(d->celsius, vapour);
}

/* Where the plot shows a fit: from its top on. */
static double fitted_from(const struct drying *d)
{
	return (d->from - d->at) / 3600;
}

/* The median of all fits; false before nearly all of them have begun. */
static bool median_at(const struct dryings *dryings, double hours, double *out)
{
	double *values = must_calloc(dryings->count, sizeof *values);
	size_t count = 0, all = 0;

	for (size_t i = 0; i < dryings->count; i++) {
		const struct drying *d = &dryings->list[i];

		if (d->verdict != DRYING_FITTED)
			continue;
		all++;
		if (hours >= fitted_from(d))
			values[count++] = fitted_at(d, hours);
	}
	*out = spread_of(values, count).median;
	free(values);
	return count > 0 && 10 * count >= 9 * all;
}

/* Of a step as it would be at the drying's temperature; false when it is not known. */
static bool measured_at(const struct drying_plot *plot, const struct drying *d, size_t i,
			double *out)
{
	const struct bin *bin = &plot->bins->list[i];

	if (bin->ok <= 0)
		return false;
	*out = air_humidity_at(d->celsius, bin->vapour);
	return isfinite(*out);
}

/* Those that were looked at long enough to be drawn. */
static bool is_drawn(const struct drying *d)
{
	return d->to > d->from && d->verdict != DRYING_WET && d->verdict != DRYING_GAPS;
}

/* ---- the axes ------------------------------------------------------------------------- */

/* As long as most dryings are, but none of a few that were left alone much longer; to where
 * each came to the edge, and to the median edge if that is near. */
static double hours_of(const struct drying_plot *plot)
{
	const struct dryings *dryings = plot->dryings;
	double *hours = must_calloc(dryings->count, sizeof *hours), most;
	struct spread spread;

	for (size_t i = 0; i < dryings->count; i++)
		hours[i] = (dryings->list[i].to - dryings->list[i].at) / 3600;
	spread = spread_of(hours, dryings->count);
	most = fmin(spread.high, LONGER * spread.median);
	free(hours);
	if (plot->summary->edge.spread.count && plot->summary->edge.spread.median < 2 * most)
		most = fmax(most, BEYOND * plot->summary->edge.spread.median);
	for (size_t i = 0; i < dryings->count; i++)
		if (dryings->list[i].edge.reach == REACH_SEEN)
			most = fmax(most, BEYOND * dryings->list[i].edge.hours);
	return fmin(fmax(most, LEAST_HOURS), MOST_HOURS);
}

/* All that is drawn, the band's lower edge, and a limit that is not far off. */
static void fit_values(struct drying_plot *plot)
{
	double low = INFINITY, high = -INFINITY, value;

	for (size_t n = 0; n < plot->dryings->count; n++) {
		const struct drying *d = &plot->dryings->list[n];

		for (size_t i = 0; is_drawn(d) && i < plot->bins->count; i++) {
			double at = bin_time(plot->bins, i);

			if (at < d->at || at >= d->to || at > d->at + 3600 * plot->hours ||
			    !measured_at(plot, d, i, &value))
				continue;
			low = fmin(low, value);
			high = fmax(high, value);
		}
	}
	for (double hours = 0; hours <= plot->hours; hours += plot->hours / CURVE_STEPS)
		if (median_at(plot->dryings, hours, &value)) {
			low = fmin(low, value);
			high = fmax(high, value);
		}
	if (!(low < high)) {
		low = 30;
		high = 70;
	}
	if (plot->has_band)
		low = fmin(low, fmin(plot->day.low, plot->night.low));
	if (plot->has_limit && plot->limit > low - NEAR_LIMIT * (high - low))
		low = fmin(low, plot->limit);
	plot->low = fmax(low - 0.08 * (high - low), 0);
	plot->high = fmin(high + 0.08 * (high - low), 110);
}

void drying_plot_fit(struct drying_plot *plot)
{
	plot->hours = hours_of(plot);
	fit_values(plot);
}

/* Whole hours, some pixels apart. */
static double hour_step(const struct drying_plot *plot)
{
	static const double steps[] = { 0.5, 1, 2, 3, 4, 6, 12, 24 };
	size_t i = 0;

	while (i + 1 < sizeof steps / sizeof *steps &&
	       steps[i] / plot->hours * plot->width < HOURS_APART)
		i++;
	return steps[i];
}

static void paint_axes(struct drying_plot *plot)
{
	struct sheet *sheet = plot->sheet;
	double bottom = plot->top + plot->height, step = hour_step(plot);
	struct tick ticks[MOST_TICKS];
	size_t count = value_ticks(plot->low, plot->high, (int)fmax(2, plot->height / 44), ticks);

	for (size_t i = 0; i < count; i++) {
		double y = y_of(plot, ticks[i].at);
		char *text = must_print("%s%s", ticks[i].label, i + 1 == count ? " %" : "");

		sheet_hairline(sheet, (struct point){ plot->left, y },
			       (struct point){ plot->left + plot->width, y }, GRID);
		sheet_text(sheet, plot->left - 8, y + 4, AT_END, paint_quiet, text);
		free(text);
	}
	for (double hours = 0; hours <= plot->hours; hours += step) {
		double x = x_of(plot, hours);
		char *text = hours > 0 ? must_print("%g", hours) : must_copy("misted");

		sheet_hairline(sheet, (struct point){ x, plot->top }, (struct point){ x, bottom },
			       GRID);
		sheet_text(sheet, x, bottom + 18, AT_MIDDLE, paint_quiet, text);
		free(text);
	}
	sheet_text(sheet, plot->left + plot->width, bottom + 36, AT_END, paint_quiet, "hours later");
}

/* ---- band and limit --------------------------------------------------------------------- */

static void paint_area(struct drying_plot *plot, double low, double high, struct stroke stroke)
{
	double top = fmax(y_of(plot, high), plot->top);
	double bottom = fmin(y_of(plot, low), plot->top + plot->height);
	double right = plot->left + plot->width;
	const struct point corners[] = { { plot->left, top }, { right, top }, { right, bottom },
					 { plot->left, bottom } };

	if (bottom > top)
		sheet_area(plot->sheet, corners, 4, stroke);
}

/* Noted, to be written where it does not cover another. */
static void beside(struct drying_plot *plot, double percent, const struct font *font, char *text)
{
	plot->beside[plot->beside_count++] = (struct beside){ y_of(plot, percent) + 4, text, font };
}

static void paint_band(struct drying_plot *plot)
{
	const struct range *day = &plot->day, *night = &plot->night;
	bool same = day->low == night->low;

	if (!plot->has_band)
		return;
	paint_area(plot, fmin(day->low, night->low), fmax(day->high, night->high), SOMETIMES);
	paint_area(plot, fmax(day->low, night->low), fmin(day->high, night->high), RIBBON);
	if (day->low > plot->low)
		beside(plot, day->low, &paint_small,
		       must_print("wanted from %g %%%s", day->low, same ? "" : " by day"));
	if (!same && night->low > plot->low)
		beside(plot, night->low, &paint_small,
		       must_print("wanted from %g %% by night", night->low));
}

static void paint_limit(struct drying_plot *plot)
{
	double y = fmin(y_of(plot, plot->limit), plot->top + plot->height - 1);

	if (!plot->has_limit || plot->limit < plot->low)
		return;
	sheet_hairline(plot->sheet, (struct point){ plot->left, y },
		       (struct point){ plot->left + plot->width, y }, LIMIT);
	beside(plot, plot->limit, &paint_small, must_print("limit %g %%", plot->limit));
}

/* ---- the dryings -------------------------------------------------------------------------- */

static void paint_measured(struct drying_plot *plot, const struct drying *d)
{
	struct point *points = must_calloc(plot->bins->count, sizeof *points);
	size_t count = 0;
	double value;

	for (size_t i = 0; i < plot->bins->count; i++) {
		double at = bin_time(plot->bins, i);

		if (at < d->at || at >= d->to)
			continue;
		if (measured_at(plot, d, i, &value)) {
			points[count++] = (struct point){ x_of(plot, (at - d->at) / 3600),
							  y_of(plot, value) };
		} else {
			sheet_polyline(plot->sheet, points, count, MEASURED);
			count = 0;
		}
	}
	sheet_polyline(plot->sheet, points, count, MEASURED);
	free(points);
}

/* Over what it was fitted to. */
static void paint_fit(struct drying_plot *plot, const struct drying *d)
{
	struct point points[CURVE_STEPS + 1];
	double from = fitted_from(d), to = fmin((d->to - d->at) / 3600, plot->hours);

	for (int i = 0; i <= CURVE_STEPS; i++) {
		double hours = from + (to - from) * i / CURVE_STEPS;

		points[i] = (struct point){ x_of(plot, hours), y_of(plot, fitted_at(d, hours)) };
	}
	if (to > from)
		sheet_polyline(plot->sheet, points, CURVE_STEPS + 1, FIT);
}

static void paint_median(struct drying_plot *plot)
{
	struct point points[CURVE_STEPS + 1];
	size_t count = 0;
	double value = 0;

	for (int i = 0; i <= CURVE_STEPS; i++) {
		double hours = plot->hours * i / CURVE_STEPS;

		if (median_at(plot->dryings, hours, &value))
			points[count++] = (struct point){ x_of(plot, hours), y_of(plot, value) };
	}
	if (!count)
		return;
	sheet_polyline(plot->sheet, points, count, MEDIAN_RIM);
	sheet_polyline(plot->sheet, points, count, MEDIAN);
	beside(plot, value, &STRONG, must_copy("median of the fits"));
}

/* Where the median drying comes to the edge, when that is within the plot. */
static void paint_edge(struct drying_plot *plot)
{
	const struct spread *edge = &plot->summary->edge.spread;
	char hours[DRYING_WORDS];
	double value;

	if (!edge->count || !(edge->median < plot->hours) || !plot->has_band ||
	    !median_at(plot->dryings, edge->median, &value) ||
	    value > fmax(plot->day.low, plot->night.low) + 2)
		return;
	char *text = must_print("at the band's edge after %s",
				drying_hours(true, edge->median, hours));
	double x = x_of(plot, edge->median), y = y_of(plot, value);
	bool fits = x + 10 + sheet_text_width(LABEL, text) < plot->left + plot->width;

	sheet_dot(plot->sheet, x, y, 3.4, COLOUR_INK);
	/* Above a line that falls, on the side where it has fallen. */
	sheet_text(plot->sheet, fits ? x + 10 : x - 10, fits ? y - 8 : y + 18,
		   fits ? AT_START : AT_END, LABEL, text);
	free(text);
}

static int by_height(const void *a, const void *b)
{
	const struct beside *one = a, *other = b;

	return (one->y > other->y) - (one->y < other->y);
}

/* From above to below, each moved down where it would cover the one above. */
static void paint_beside(struct drying_plot *plot)
{
	double x = plot->left + plot->width + 8;

	if (plot->beside_count)
		qsort(plot->beside, plot->beside_count, sizeof *plot->beside, by_height);
	for (size_t i = 0; i < plot->beside_count; i++) {
		struct beside *at = &plot->beside[i];

		if (i && at->y < plot->beside[i - 1].y + LABEL_STEP)
			at->y = plot->beside[i - 1].y + LABEL_STEP;
		sheet_text(plot->sheet, x, at->y, AT_START, *at->font, at->text);
		free(at->text);
	}
}

void drying_plot_paint(struct drying_plot *plot)
{
	const struct dryings *dryings = plot->dryings;

	sheet_clip(plot->sheet, plot->left, plot->top, plot->width, plot->height);
	paint_band(plot);
	sheet_unclip(plot->sheet);
	paint_axes(plot);
	sheet_clip(plot->sheet, plot->left, plot->top, plot->width, plot->height);
	for (size_t i = 0; i < dryings->count; i++)
		if (is_drawn(&dryings->list[i]))
			paint_measured(plot, &dryings->list[i]);
	for (size_t i = 0; i < dryings->count; i++)
		if (dryings->list[i].verdict == DRYING_FITTED)
			paint_fit(plot, &dryings->list[i]);
	paint_limit(plot);
	paint_median(plot);
	sheet_unclip(plot->sheet);
	paint_edge(plot);
	paint_beside(plot);
}
