/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One panel on the sheet of a graph: the plot librrd draws, and what is
 * written above, upon and beside it; see paint.h.
 */
#include "report/paint.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/gather.h"
#include "report/panel.h"

const struct font paint_quiet = { 12, false, COLOUR_QUIET };
const struct font paint_small = { 11, false, COLOUR_QUIET };

static const struct font HEADING = { 13, true, COLOUR_INK };
static const struct font LABEL = { 11, false, COLOUR_INK };

enum {
	ALERT_APART = 6,        /* px between two alert labels */
	LINE_APART = 4,         /* px between an alert's line and another label */
	NIGHT_LABEL = 60,       /* px: least width of a night with the word on it */
};

double paint_x(const struct place_on *on, double instant)
{
	const struct window *window = &on->graph->window;

	return on->left + (instant - floor(window->from)) /
				  (ceil(window->to) - floor(window->from)) * (on->right - on->left);
}

static double y_of(const struct place_on *on, double value)
{
	return on->bottom - (value - on->low) / (on->high - on->low) * (on->bottom - on->top);
}

/* A label near x that stays within the plot. */
static void label_near(const struct place_on *on, double x, double y, struct font font,
		       const char *text)
{
	double half = sheet_text_width(font, text) / 2;

	x = fmax(x, on->left + half + 3);
	x = fmin(x, on->right - half - 3);
	sheet_text(on->sheet, x, y, AT_MIDDLE, font, text);
}

/* ---- a panel's heading ---------------------------------------------------- */

char *panel_wanted(const struct graph_panel *panel, enum units units)
{
	char day[MEASURE_TEXT], night[MEASURE_TEXT], limits[MEASURE_TEXT];
	enum quantity quantity = panel->series.quantity;
	bool same = panel->day.low == panel->night.low && panel->day.high == panel->night.high;

	if (!panel->has_band)
		return must_copy("no band is set");
	show_range(panel->day, quantity, units, day);
	show_range(panel->night, quantity, units, night);
	char *wanted = same ? must_print("wanted %s", day)
			    : must_print("wanted %s by day, %s by night", day, night);

	if (!panel->has_limits)
		return wanted;
	char *all = must_print("%s; limits %s", wanted,
			       show_range(panel->limits, quantity, units, limits));

	free(wanted);
	return all;
}

/* Writes to the left of *x, and moves it there. */
static void write_leftward(const struct place_on *on, double *x, double y, struct font font,
			   const char *text)
{
	sheet_text(on->sheet, *x, y, AT_END, font, text);
	*x -= sheet_text_width(font, text) + 14;
}

/* "below 3 h 20 min   unknown 35 min", ending at the plot's right edge;
 * returns where it begins. */
static double paint_result(const struct place_on *on, double y)
{
	const struct totals *t = &on->panel->totals;
	const struct font below = { 13, true, COLOUR_BELOW }, above = { 13, true, COLOUR_ABOVE };
	const struct {
		double seconds;
		const char *word;
		struct font font;
	} parts[] = {
		{ t->unknown, "unknown", paint_quiet },
		{ t->has_band ? t->high : 0, "above", above },
		{ t->has_band ? t->low : 0, "below", below },
	};
	double x = on->right;

	for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
		char duration[MEASURE_TEXT];

		if (parts[i].seconds < 1)
			continue;
		char *text = must_print("%s %s", parts[i].word,
					show_duration(parts[i].seconds, duration));

		write_leftward(on, &x, y, parts[i].font, text);
		free(text);
	}
	if (t->has_band && t->known && t->low + t->high < 1)
		write_leftward(on, &x, y, paint_quiet, "in its band");
	return x;
}

static void paint_heading(const struct place_on *on, double y)
{
	char *phrase = series_phrase(on->panel->series);
	char *wanted = panel_wanted(on->panel, on->graph->units);
	double x = on->left + sheet_text_width(HEADING, phrase) + 14;
	double free_until = paint_result(on, y);

	sheet_text(on->sheet, on->left, y, AT_START, HEADING, phrase);
	if (x + sheet_text_width(paint_quiet, wanted) < free_until)
		sheet_text(on->sheet, x, y, AT_START, paint_quiet, wanted);
	free(phrase);
	free(wanted);
}

/* ---- upon and beside a plot ----------------------------------------------- */

static const char *unit_of(const struct place_on *on)
{
	return on->panel->series.quantity == HUMIDITY ? "%"
	       : on->graph->units == FAHRENHEIT	      ? "°F"
						      : "°C";
}

static void paint_values(const struct place_on *on)
{
	const struct graph_panel *panel = on->panel;

	for (size_t i = 0; i < panel->value_count; i++) {
		double y = y_of(on, panel->values[i].at);
		char *text = i + 1 < panel->value_count
				     ? must_copy(panel->values[i].label)
				     : must_print("%s %s", panel->values[i].label, unit_of(on));

		if (y > on->top + 4 && y < on->bottom - 1)
			sheet_text(on->sheet, on->left - 8, y + 4, AT_END, paint_quiet, text);
		free(text);
	}
}

/* Beside the right edge: what the ribbon and the thin lines are. */
static void paint_edges(const struct place_on *on)
{
	const struct graph_panel *panel = on->panel;
	const struct curve *curve = &panel->curve;
	double low = curve->layers[LAYER_BAND_LOW][curve->columns - 1];
	double high = curve->layers[LAYER_BAND_HIGH][curve->columns - 1];

	if (!isnan(low))
		sheet_text(on->sheet, on->right + 8, y_of(on, (low + high) / 2) + 4, AT_START, paint_small,
			   "wanted");
	for (int side = 0; panel->has_limits && side < 2; side++) {
		double shown = in_units(side ? panel->limits.high : panel->limits.low,
					panel->series.quantity, on->graph->units);

		if (shown <= on->low || shown >= on->high)
			continue;
		char *text = must_print("limit %g %s", round(shown * 10) / 10, unit_of(on));

		sheet_text(on->sheet, on->right + 8, y_of(on, shown) + 4, AT_START, paint_small, text);
		free(text);
	}
}

/* Where a label around x is not crossed by an alert's line. */
static double beside_alerts(const struct place_on *on, double x, double half)
{
	for (size_t i = 0; i < on->panel->alert_count; i++) {
		double line = paint_x(on, on->panel->alerts[i]->time);
		double aside = half + LINE_APART;

		if (fabs(line - x) >= aside)
			continue;
		/* To the nearer side, unless the plot ends there. */
		bool to_left = line > x ? line - 2 * aside > on->left : line + 2 * aside > on->right;

		return to_left ? line - aside : line + aside;
	}
	return x;
}

static void paint_extreme(const struct place_on *on, const struct extreme *extreme, bool least)
{
	enum quantity quantity = on->panel->series.quantity;
	double x = paint_x(on, extreme->at);
	double y = y_of(on, in_units(extreme->value, quantity, on->graph->units));
	char value[MEASURE_TEXT], at[TICK_TEXT];
	char *text = must_print("%s %s, %s", least ? "lowest" : "highest",
				show_value(extreme->value, quantity, on->graph->units, value),
				brief_instant(extreme->at, on->graph->window, at));

	sheet_dot(on->sheet, x, y, 2.4, COLOUR_INK);
	x = beside_alerts(on, x, sheet_text_width(LABEL, text) / 2);
	label_near(on, x, least ? y + 15 : y - 7, LABEL, text);
	free(text);
}

static const char *alert_word(const struct alert_record *record)
{
	return record->event == RAISED ? "alert" : record->event == WORSENED ? "worse" : "over";
}

/* Above the plot, where there is room between two of them. */
static void paint_alerts(const struct place_on *on)
{
	double free_from = on->left;

	for (size_t i = 0; i < on->panel->alert_count; i++) {
		const struct alert_record *record = on->panel->alerts[i];
		double x = paint_x(on, record->time);
		char at[TICK_TEXT];
		char *text = must_print("%s %s", alert_word(record),
					brief_instant(record->time, on->graph->window, at));
		double half = sheet_text_width(LABEL, text) / 2;

		sheet_pointer(on->sheet, x, on->top, 7, COLOUR_INK);
		if (x - half > free_from && x + half < on->graph->width) {
			sheet_text(on->sheet, x, on->top - 9, AT_MIDDLE, LABEL, text);
			free_from = x + half + ALERT_APART;
		}
		free(text);
	}
}

/* The word on the first night wide enough, in the topmost panel. */
static void paint_night(const struct place_on *on)
{
	const struct curve *curve = &on->panel->curve;
	size_t begin = 0;

	for (size_t c = 0; c <= curve->columns; c++) {
		bool night = c < curve->columns && !isnan(curve->layers[LAYER_NIGHT][c]);

		if (night && (c == 0 || isnan(curve->layers[LAYER_NIGHT][c - 1])))
			begin = c;
		if (night || c == 0 || isnan(curve->layers[LAYER_NIGHT][c - 1]))
			continue;
		double x = paint_x(on, (double)curve->from + (double)begin * curve->step);
		double end = paint_x(on, (double)curve->from + (double)c * curve->step);

		if (end - x >= NIGHT_LABEL) {
			sheet_text(on->sheet, x + 6, on->bottom - 7, AT_START, paint_small, "night");
			return;
		}
	}
}

/* ---- the panel ------------------------------------------------------------ */

static bool draw_plot(const struct graph *graph, const struct graph_panel *planned, bool svg,
		      struct picture *out, char **trouble)
{
	double *alerts = must_calloc(planned->alert_count, sizeof *alerts);
	struct panel panel = {
		.curve = &planned->curve,
		.window = graph->window,
		.width = graph->plot_width,
		.height = graph->plot_height,
		.low = planned->low,
		.high = planned->high,
		.values = planned->values,
		.value_count = planned->value_count,
		.times = graph->times,
		.time_count = graph->time_count,
		.alerts = alerts,
		.alert_count = planned->alert_count,
		.svg = svg,
	};
	const double limits[] = { planned->limits.low, planned->limits.high };
	bool good;

	for (size_t i = 0; i < planned->alert_count; i++)
		alerts[i] = planned->alerts[i]->time;
	for (int i = 0; planned->has_limits && i < 2; i++) {
		double limit = in_units(limits[i], planned->series.quantity, graph->units);

		if (limit > panel.low && limit < panel.high)
			panel.limits[panel.limit_count++] = limit;
	}
	good = panel_draw(&panel, out, trouble);
	free(alerts);
	return good;
}

bool paint_panel(const struct graph *graph, size_t i, bool svg, struct sheet *sheet,
		 struct place_on *on, char **trouble)
{
	int before = HEADING_HEIGHT + graph->strip_height;
	double begin = HEAD_HEIGHT + (double)i * (before + graph->plot_height + PANEL_GAP);
	const struct graph_panel *panel = &graph->panels[i];
	struct picture picture;

	if (!draw_plot(graph, panel, svg, &picture, trouble))
		return false;
	*on = (struct place_on){
		.sheet = sheet,
		.graph = graph,
		.panel = panel,
		.top = begin + before,
		.bottom = begin + before + picture.height,
		.left = MARGIN_LEFT,
		.right = MARGIN_LEFT + picture.width,
		.low = picture.low,
		.high = picture.high,
	};
	sheet_picture(sheet, on->left, on->top, picture.width, picture.height, picture.bytes,
		      picture.size);
	paint_heading(on, begin + 16);
	paint_values(on);
	paint_edges(on);
	paint_alerts(on);
	if (!panel->has_extremes)
		label_near(on, (on->left + on->right) / 2, (on->top + on->bottom) / 2 + 4, paint_quiet,
			   "no reading in this time");
	else if (graph->plot_height >= LABELLED_PLOT) {
		paint_extreme(on, &panel->least, true);
		paint_extreme(on, &panel->most, false);
	}
	if (i == 0)
		paint_night(on);
	return true;
}
