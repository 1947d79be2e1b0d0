/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One panel; see panel.h.
 */
#include "report/panel.h"

#include <math.h>

#include "report/outline.h"

enum {
	DAY_COLUMN = 86400,     /* s: in columns of days, edges run from middle to middle */
	HATCH_APART = 6,        /* px */
	UNKNOWN_ABOVE = 5,      /* px above the plot's base: where unknown time is dotted */
};

static const struct stroke RIBBON = { .colour = COLOUR_RIBBON, .opacity = 1 };
static const struct stroke NIGHT_SHADE = { .colour = "000000", .opacity = 0.045 };
static const struct stroke GRID = { .colour = "000000", .opacity = 0.07, .width = 1 };
static const struct stroke LIMIT = { .colour = COLOUR_LIMIT, .opacity = 1, .width = 1 };
static const struct stroke BEYOND = { .colour = COLOUR_PAGE, .opacity = 1, .width = 1.2 };
static const struct stroke READING = { .colour = COLOUR_INK, .opacity = 1, .width = 1.4,
				    .round = true };
static const struct stroke COARSE_READING = { .colour = COLOUR_INK, .opacity = 1, .width = 1.1,
					   .round = true };
static const struct stroke EXTREME = { .colour = COLOUR_INK, .opacity = 0.65, .width = 0.6,
				    .round = true };
static const struct stroke UNKNOWN = { .colour = COLOUR_LIMIT, .opacity = 1, .width = 2, .gap = 5,
				    .round = true };

double panel_x(const struct panel *panel, double instant)
{
	const struct window *window = &panel->window;

	return panel->left +
	       (instant - window->from) / (window->to - window->from) * panel->width;
}

double panel_y(const struct panel *panel, double value)
{
	return panel->top +
	       (panel->high - value) / (panel->high - panel->low) * panel->height;
}

/* Where a column begins; half a column further is its middle. */
static double column_x(const struct panel *panel, double column)
{
	const struct curve *curve = panel->curve;

	return panel_x(panel, (double)curve->from + column * curve->step);
}

/* ---- outlines ------------------------------------------------------------- */

/* None of the shapes below needs more points a column. */
enum { POINTS_EACH = 4 };

/* A run's ends, in pixels. */
struct ends {
	double from, to;
};

/* From middle to middle of the columns [begin, end), and level beyond them. */
static void add_slopes(const struct panel *panel, enum layer layer, size_t begin, size_t end,
		       struct ends ends, struct outline *outline)
{
	const double *numbers = panel->curve->layers[layer];

	outline_add(outline, ends.from, panel_y(panel, numbers[begin]));
	for (size_t c = begin; c < end; c++)
		outline_add(outline, column_x(panel, (double)c + 0.5), panel_y(panel, numbers[c]));
	outline_add(outline, ends.to, panel_y(panel, numbers[end - 1]));
}

/* Level over each column, and a step where the next begins. */
static void add_steps(const struct panel *panel, enum layer layer, size_t begin, size_t end,
		      struct ends ends, struct outline *outline)
{
	const double *numbers = panel->curve->layers[layer];

	outline_add(outline, ends.from, panel_y(panel, numbers[begin]));
	for (size_t c = begin + 1; c < end; c++) {
		double x = column_x(panel, (double)c);

		if (fabs(numbers[c] - numbers[c - 1]) < 1e-9)
			continue;
		outline_add(outline, x, panel_y(panel, numbers[c - 1]));
		outline_add(outline, x, panel_y(panel, numbers[c]));
	}
	outline_add(outline, ends.to, panel_y(panel, numbers[end - 1]));
}

static struct ends whole(const struct panel *panel, size_t begin, size_t end)
{
	return (struct ends){ column_x(panel, (double)begin), column_x(panel, (double)end) };
}

/* Of the columns [first, last) those from `begin` to `end`; at both ends of all it is the
 * plot's edge, as an area reaches a little beyond its columns. */
static struct ends held(const struct panel *panel, size_t begin, size_t end, size_t first,
			size_t last)
{
	double right = panel->left + panel->width;

	return (struct ends){
		begin > first ? fmax(column_x(panel, (double)begin), panel->left) : panel->left,
		end < last ? fmin(column_x(panel, (double)end), right) : right,
	};
}

/* ---- what lies under the reading ------------------------------------------ */

static void draw_ribbon(const struct panel *panel, struct sheet *sheet)
{
	size_t end;

	for (size_t begin = 0; curve_run(panel->curve, LAYER_BAND_LOW, &begin, &end); begin = end) {
		struct outline outline = outline_begin((end - begin + 1) * POINTS_EACH);
		struct ends ends = whole(panel, begin, end);

		add_steps(panel, LAYER_BAND_HIGH, begin, end, ends, &outline);
		size_t there = outline.count;

		add_steps(panel, LAYER_BAND_LOW, begin, end, ends, &outline);
		outline_turn(&outline, there);
		sheet_area(sheet, outline.points, outline.count, RIBBON);
		outline_clear(&outline);
	}
}

static void draw_nights(const struct panel *panel, struct sheet *sheet)
{
	double top = panel->top, bottom = panel->top + panel->height;
	size_t end;

	for (size_t begin = 0; curve_run(panel->curve, LAYER_NIGHT, &begin, &end); begin = end) {
		struct ends ends = whole(panel, begin, end);
		const struct point corners[] = { { ends.from, top }, { ends.to, top },
						 { ends.to, bottom }, { ends.from, bottom } };

		sheet_area(sheet, corners, 4, NIGHT_SHADE);
	}
}

/* Where a level is drawn: at the very base it would lie below the last row of pixels. */
static double level_y(const struct panel *panel, double value)
{
	return fmin(panel_y(panel, value), panel->top + panel->height - 1);
}

static void draw_level(const struct panel *panel, struct sheet *sheet, double value,
		       struct ends ends, struct stroke stroke)
{
	double y = level_y(panel, value);

	if (value >= panel->low && value <= panel->high)
		sheet_hairline(sheet, (struct point){ ends.from, y }, (struct point){ ends.to, y },
			       stroke);
}

/* From one level to another, as far as the axis goes. */
static void draw_upright(const struct panel *panel, struct sheet *sheet, double x, double from,
			 double to, struct stroke stroke)
{
	double low = fmax(fmin(from, to), panel->low), high = fmin(fmax(from, to), panel->high);

	if (low < high)
		sheet_hairline(sheet, (struct point){ x, level_y(panel, low) },
			       (struct point){ x, level_y(panel, high) }, stroke);
}

static void draw_instant(const struct panel *panel, struct sheet *sheet, double instant,
			 struct stroke stroke)
{
	double x = panel_x(panel, instant);

	sheet_hairline(sheet, (struct point){ x, panel->top },
		       (struct point){ x, panel->top + panel->height }, stroke);
}

/* Level as long as it holds, and a step where another begins to. */
static void draw_limit(const struct panel *panel, struct sheet *sheet, enum layer layer)
{
	const double *numbers = panel->curve->layers[layer];
	size_t columns = panel->curve->columns, end;

	for (size_t begin = 0; begin < columns; begin = end) {
		end = curve_level(panel->curve, layer, begin, columns);
		if (isnan(numbers[begin]))
			continue;
		struct ends ends = held(panel, begin, end, 0, columns);

		draw_level(panel, sheet, numbers[begin], ends, LIMIT);
		if (end < columns && !isnan(numbers[end]))
			draw_upright(panel, sheet, ends.to, numbers[begin], numbers[end], LIMIT);
	}
}

static void draw_grid(const struct panel *panel, struct sheet *sheet)
{
	struct ends all = { panel->left, panel->left + panel->width };

	for (size_t i = 0; i < panel->value_count; i++)
		draw_level(panel, sheet, panel->values[i].at, all, GRID);
	for (size_t i = 0; i < panel->time_count; i++)
		draw_instant(panel, sheet, panel->times[i].at, GRID);
	draw_limit(panel, sheet, LAYER_LIMIT_LOW);
	draw_limit(panel, sheet, LAYER_LIMIT_HIGH);
}

/* ---- what was below and above --------------------------------------------- */

/* The layers of one side. */
struct strayed {
	enum layer reading;     /* what is drawn of the reading */
	enum layer tip, edge;   /* the area's: at the reading, and at the band */
	enum layer band, limit;
	struct stroke stroke;
};

/* How far from the middle of column `out` towards that of its neighbour, in
 * columns, the area reaches: to where the reading crosses the band's edge;
 * where it does not, or is unknown, to the column's end.  Another band holds
 * from the column's end on. */
static double reach(const struct curve *curve, const struct strayed *s, size_t out, size_t beside)
{
	double tip = curve->layers[s->tip][out], edge = curve->layers[s->edge][out];
	double part = (edge - tip) / (curve->layers[s->reading][beside] - tip);
	bool same = fabs(curve->layers[s->band][out] - curve->layers[s->band][beside]) < 1e-9;

	if (!(part >= 0 && part <= 1))
		return 0.5;
	return same ? part : fmin(part, 0.5);
}

/* The point of the reading there. */
static struct point reached(const struct panel *panel, const struct strayed *s, size_t out,
			    size_t beside, double part)
{
	const struct curve *curve = panel->curve;
	double tip = curve->layers[s->tip][out], next = curve->layers[s->reading][beside];
	double aside = beside < out ? -part : part;

	return (struct point){ column_x(panel, (double)out + 0.5 + aside),
			       panel_y(panel, isnan(next) ? tip : tip + part * (next - tip)) };
}

static void outline_strayed(const struct panel *panel, const struct strayed *s, size_t begin,
			    size_t end, struct outline *outline)
{
	const struct curve *curve = panel->curve;
	struct ends ends = whole(panel, begin, end);
	size_t there;

	add_slopes(panel, s->tip, begin, end, ends, outline);
	if (begin > 0) {
		outline->points[0] = reached(panel, s, begin, begin - 1,
					     reach(curve, s, begin, begin - 1));
		ends.from = outline->points[0].x;
	}
	if (end < curve->columns) {
		outline->points[outline->count - 1] =
			reached(panel, s, end - 1, end, reach(curve, s, end - 1, end));
		ends.to = outline->points[outline->count - 1].x;
	}
	there = outline->count;
	if (curve->step >= DAY_COLUMN)
		add_slopes(panel, s->edge, begin, end, ends, outline);
	else
		add_steps(panel, s->edge, begin, end, ends, outline);
	outline_turn(outline, there);
}

/* The part of an area that lies within the box, if any of it does. */
static void hatch_between(struct sheet *sheet, const struct outline *outline, struct ends ends,
			  double upper, double lower)
{
	size_t inside = 0;

	for (size_t i = 0; i < outline->count; i++) {
		struct point at = outline->points[i];

		if (at.x >= ends.from && at.x <= ends.to && at.y > upper && at.y < lower)
			inside++;
	}
	if (!inside)
		return;
	sheet_clip(sheet, ends.from, upper, ends.to - ends.from, lower - upper);
	sheet_hatch(sheet, outline->points, outline->count, HATCH_APART, BEYOND);
	sheet_unclip(sheet);
}

/* Hatched beyond the limits of then, so that colour is not the only sign. */
static void hatch_beyond(const struct panel *panel, struct sheet *sheet, const struct strayed *s,
			 size_t first, size_t last, const struct outline *outline)
{
	/* Beyond the plot's edge too, lest an area that is cut off there has no point inside. */
	double far = 1e6;
	bool below = s->limit == LAYER_LIMIT_LOW;
	size_t end;

	for (size_t begin = first; begin < last; begin = end) {
		double limit = panel->curve->layers[s->limit][begin];

		end = curve_level(panel->curve, s->limit, begin, last);
		if (isnan(limit))
			continue;
		double y = panel_y(panel, limit);

		hatch_between(sheet, outline, held(panel, begin, end, first, last),
			      below ? y : panel->top - far,
			      below ? panel->top + panel->height + far : y);
	}
}

static void draw_strayed(const struct panel *panel, struct sheet *sheet, struct strayed strayed)
{
	size_t end;

	for (size_t begin = 0; curve_run(panel->curve, strayed.tip, &begin, &end); begin = end) {
		struct outline outline = outline_begin((end - begin + 1) * POINTS_EACH);

		outline_strayed(panel, &strayed, begin, end, &outline);
		sheet_area(sheet, outline.points, outline.count, strayed.stroke);
		hatch_beyond(panel, sheet, &strayed, begin, end, &outline);
		outline_clear(&outline);
	}
}

/* ---- the reading ---------------------------------------------------------- */

static void draw_line(const struct panel *panel, struct sheet *sheet, enum layer layer,
		      struct stroke stroke)
{
	size_t end;

	for (size_t begin = 0; curve_run(panel->curve, layer, &begin, &end); begin = end) {
		struct outline outline = outline_begin((end - begin + 1) * POINTS_EACH);

		add_slopes(panel, layer, begin, end, whole(panel, begin, end), &outline);
		sheet_polyline(sheet, outline.points, outline.count, stroke);
		outline_clear(&outline);
	}
}

static void draw_unknown(const struct panel *panel, struct sheet *sheet)
{
	double y = panel->top + panel->height - UNKNOWN_ABOVE;
	size_t end;

	for (size_t begin = 0; curve_run(panel->curve, LAYER_UNKNOWN, &begin, &end); begin = end) {
		struct ends ends = whole(panel, begin, end);

		sheet_polyline(sheet, (struct point[]){ { ends.from, y }, { ends.to, y } }, 2,
			       UNKNOWN);
	}
}

static void draw_reading(const struct panel *panel, struct sheet *sheet)
{
	bool coarse = panel->curve->coarse;

	draw_strayed(panel, sheet, (struct strayed){
		coarse ? LAYER_LEAST : LAYER_LINE, LAYER_UNDER_FROM, LAYER_UNDER_TO,
		LAYER_BAND_LOW, LAYER_LIMIT_LOW, { .colour = COLOUR_BELOW, .opacity = 1 } });
	draw_strayed(panel, sheet, (struct strayed){
		coarse ? LAYER_MOST : LAYER_LINE, LAYER_OVER_TO, LAYER_OVER_FROM,
		LAYER_BAND_HIGH, LAYER_LIMIT_HIGH, { .colour = COLOUR_ABOVE, .opacity = 1 } });
	if (coarse) {
		draw_line(panel, sheet, LAYER_LEAST, EXTREME);
		draw_line(panel, sheet, LAYER_MOST, EXTREME);
	}
	draw_line(panel, sheet, LAYER_LINE, coarse ? COARSE_READING : READING);
	draw_unknown(panel, sheet);
}

void panel_draw(const struct panel *panel, struct sheet *sheet)
{
	sheet_clip(sheet, panel->left, panel->top, panel->width, panel->height);
	draw_ribbon(panel, sheet);
	draw_nights(panel, sheet);
	draw_grid(panel, sheet);
	draw_reading(panel, sheet);
	sheet_unclip(sheet);
}
