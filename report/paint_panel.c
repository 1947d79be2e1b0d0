/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One panel on the sheet of a graph: its plot, and what is written above,
 * upon and beside it; see paint.h.
 */
#include "report/paint.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/gather.h"
#include "report/panel.h"

const struct font paint_quiet = { .size = 12, .colour = COLOUR_QUIET };
const struct font paint_small = { .size = 11, .colour = COLOUR_QUIET };

static const struct font LABEL = { .size = 11, .colour = COLOUR_INK, .rim = COLOUR_PAGE };
static const struct font NO_READING = { .size = 12, .colour = COLOUR_QUIET, .rim = COLOUR_PAGE };

enum {
	PART_APART = 14,        /* px between two parts of a heading */
	PHONE_SHEET = 480,      /* px: on a narrower sheet headings are smaller */
	ABOVE_DOT = 7, BELOW_DOT = 15, /* px from a dot to the baseline of its label */
	NIGHT_LABEL = 60,       /* px: least width of a night with the word on it */
	EDGE_APART = 13,        /* px between the baselines of two labels beside the plot */
};

/* Whether a text at a baseline covers none that is there; if so it is noted. */
static bool free_for(struct place_on *on, double left, double right, double baseline)
{
	const struct box box = { left, baseline - 10, right, baseline + 3 };

	for (size_t i = 0; i < on->label_count; i++) {
		const struct box *other = &on->labels[i];

		if (box.left < other->right && box.right > other->left && box.top < other->bottom &&
		    box.bottom > other->top)
			return false;
	}
	if (on->label_count < MOST_LABELS)
		on->labels[on->label_count++] = box;
	return true;
}

/* A label near x that stays within the plot, where nothing else is written. */
static void label_near(struct place_on *on, double x, double y, struct font font,
		       const char *text)
{
	double half = sheet_text_width(font, text) / 2;

	x = fmax(x, on->plot.left + half + 3);
	x = fmin(x, on->right - half - 3);
	if (free_for(on, x - half, x + half, y))
		sheet_text(on->sheet, x, y, AT_MIDDLE, font, text);
}

/* ---- a panel's heading ---------------------------------------------------- */

/* A word and how long, as it stands at the right of a heading. */
struct part {
	char *text;             /* malloc'ed */
	struct font font;
	double width;
	bool shown;
};

enum { MOST_PARTS = 3 };

static struct part part_of(const char *word, double seconds, struct font font)
{
	char duration[MEASURE_TEXT];
	char *text = seconds > 0 ? must_print("%s %s", word, show_duration(seconds, duration))
				 : must_copy(word);

	return (struct part){ text, font, sheet_text_width(font, text), false };
}

static struct font heading_font(const struct place_on *on, const char *colour)
{
	double size = on->graph->width < PHONE_SHEET ? 11 : 13;

	return (struct font){ .size = size, .bold = true, .colour = colour };
}

/* In the order of their weight. */
static size_t parts_of(const struct place_on *on, struct part parts[MOST_PARTS])
{
	const struct totals *t = &on->panel->totals;
	const double seconds[] = { t->low, t->high };
	size_t count = 0;

	for (int i = 0; t->has_band && i < 2; i++) {
		bool high = (t->high > t->low) == (i == 0);

		if (seconds[high] >= 1)
			parts[count++] = part_of(high ? "above" : "below", seconds[high],
						 heading_font(on, high ? COLOUR_ABOVE : COLOUR_BELOW));
	}
	if (t->has_band && t->known && !count)
		parts[count++] = part_of("in its band", 0, paint_quiet);
	if (t->unknown >= 1)
		parts[count++] = part_of("unknown", t->unknown, paint_quiet);
	return count;
}

/* "below 3 h 20 min   unknown 35 min", ending at the plot's right edge, or at
 * the sheet's where the room is needed; what has none is left out, the
 * lightest first.  Returns where it begins. */
static double paint_result(const struct place_on *on, double from, double y)
{
	double edge = on->graph->width - SHEET_EDGE, needed = 0, begin, x;
	struct part parts[MOST_PARTS];
	size_t count = parts_of(on, parts);

	for (size_t i = 0; i < count; i++) {
		parts[i].shown = from + needed + parts[i].width <= edge;
		needed += parts[i].shown ? parts[i].width + PART_APART : 0;
	}
	needed -= needed > 0 ? PART_APART : 0;
	begin = x = from + needed <= on->right ? on->right - needed : edge - needed;
	for (size_t i = 0; i < count; i++) {
		if (parts[i].shown) {
			sheet_text(on->sheet, x, y, AT_START, parts[i].font, parts[i].text);
			x += parts[i].width + PART_APART;
		}
		free(parts[i].text);
	}
	return begin;
}

static void paint_heading(const struct place_on *on, double y)
{
	char *phrase = series_phrase(on->panel->series);
	struct font font = heading_font(on, COLOUR_INK);
	double x = on->plot.left + sheet_text_width(font, phrase) + PART_APART;
	double free_until = paint_result(on, x, y);

	sheet_text(on->sheet, on->plot.left, y, AT_START, font, phrase);
	for (int words = 0; words < WANTED_WORDS; words++) {
		char *wanted = panel_wanted(on->panel, (enum wanted_words)words, on->graph->units);
		bool fits = x + sheet_text_width(paint_quiet, wanted) < free_until;

		if (fits)
			sheet_text(on->sheet, x, y, AT_START, paint_quiet, wanted);
		free(wanted);
		if (fits)
			break;
	}
	free(phrase);
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
		double y = panel_y(&on->plot, panel->values[i].at);
		char *text = i + 1 < panel->value_count
				     ? must_copy(panel->values[i].label)
				     : must_print("%s %s", panel->values[i].label, unit_of(on));

		sheet_text(on->sheet, on->plot.left - 8, y + 4, AT_END, paint_quiet, text);
		free(text);
	}
}

/* Beside the right edge: what the ribbon and the thin lines are. */
static void paint_edges(const struct place_on *on)
{
	const struct panel *plot = &on->plot;
	const struct curve *curve = plot->curve;
	double low = curve->layers[LAYER_BAND_LOW][curve->columns - 1];
	double high = curve->layers[LAYER_BAND_HIGH][curve->columns - 1];
	double wanted = panel_y(plot, (fmax(low, plot->low) + fmin(high, plot->high)) / 2) + 4;
	bool free_there = !isnan(low) && high > plot->low && low < plot->high;

	for (int layer = LAYER_LIMIT_LOW; layer <= LAYER_LIMIT_HIGH; layer++) {
		double limit = curve->layers[layer][curve->columns - 1];
		double y = panel_y(plot, limit) + 4;

		if (!(limit >= plot->low && limit <= plot->high))
			continue;
		free_there &= fabs(wanted - y) >= EDGE_APART;
		char *text = must_print("limit %g %s", round(limit * 10) / 10, unit_of(on));

		sheet_text(on->sheet, on->right + 8, y, AT_START, paint_small, text);
		free(text);
	}
	if (free_there)
		sheet_text(on->sheet, on->right + 8, wanted, AT_START, paint_small, "wanted");
}

/* With its dot on the reading; where the axis does not reach it, a label at
 * the plot's edge alone. */
static void paint_extreme(struct place_on *on, const struct extreme *extreme, bool least)
{
	enum quantity quantity = on->panel->series.quantity;
	double shown = in_units(extreme->value, quantity, on->graph->units);
	double x = panel_x(&on->plot, extreme->at), y = panel_y(&on->plot, shown);
	double baseline = least ? y + BELOW_DOT : y - ABOVE_DOT;
	char value[MEASURE_TEXT], at[TICK_TEXT];
	char *text = must_print("%s %s, %s", least ? "lowest" : "highest",
				show_value(extreme->value, quantity, on->graph->units, value),
				brief_instant(extreme->at, on->graph->window, at));

	if (shown >= on->plot.low && shown <= on->plot.high)
		sheet_dot(on->sheet, x, y, 2.4, COLOUR_INK);
	baseline = fmin(fmax(baseline, on->plot.top + 11), on->bottom - 4);
	label_near(on, x, baseline, LABEL, text);
	free(text);
}

static bool unknown_within(const struct place_on *on, double from, double to)
{
	const struct curve *curve = on->plot.curve;
	size_t end;

	for (size_t begin = 0; curve_run(curve, LAYER_UNKNOWN, &begin, &end); begin = end)
		if (panel_x(&on->plot, (double)curve->from + (double)begin * curve->step) < to &&
		    panel_x(&on->plot, (double)curve->from + (double)end * curve->step) > from)
			return true;
	return false;
}

/* The word at the base of the first night wide enough and free there. */
static void paint_night(struct place_on *on)
{
	const struct curve *curve = on->plot.curve;
	double width = sheet_text_width(paint_small, "night"), base = on->bottom - 7;
	size_t end;

	for (size_t begin = 0; curve_run(curve, LAYER_NIGHT, &begin, &end); begin = end) {
		double x = panel_x(&on->plot, (double)curve->from + (double)begin * curve->step);
		double until = panel_x(&on->plot, (double)curve->from + (double)end * curve->step);

		x = fmax(x, on->plot.left) + 6;
		if (until - x < NIGHT_LABEL || unknown_within(on, x, x + width) ||
		    !free_for(on, x, x + width, base))
			continue;
		sheet_text(on->sheet, x, base, AT_START, paint_small, "night");
		return;
	}
}

/* ---- the panel ------------------------------------------------------------ */

static struct panel plot_of(const struct graph *graph, const struct graph_panel *planned)
{
	return (struct panel){
		.curve = &planned->curve,
		.window = graph->window,
		.left = MARGIN_LEFT,
		.width = graph->plot_width,
		.height = graph->plot_height,
		.low = planned->low,
		.high = planned->high,
		.values = planned->values,
		.value_count = planned->value_count,
		.times = graph->times,
		.time_count = graph->time_count,
	};
}

void paint_panel(const struct graph *graph, size_t i, struct sheet *sheet, struct place_on *on)
{
	int before = HEADING_HEIGHT + graph->strip_height;
	double begin = HEAD_HEIGHT + (double)i * (before + graph->plot_height + PANEL_GAP);
	const struct graph_panel *panel = &graph->panels[i];

	*on = (struct place_on){ .sheet = sheet, .graph = graph, .panel = panel };
	on->plot = plot_of(graph, panel);
	on->plot.top = begin + before;
	on->right = on->plot.left + on->plot.width;
	on->bottom = on->plot.top + on->plot.height;
	panel_draw(&on->plot, on->sheet);
	paint_heading(on, begin + 16);
	paint_values(on);
	paint_edges(on);
	paint_strip(on);
	if (!panel->has_extremes)
		label_near(on, (on->plot.left + on->right) / 2, (on->plot.top + on->bottom) / 2 + 4,
			   NO_READING, "no reading in this time");
	else if (graph->plot_height >= LABELLED_PLOT) {
		paint_extreme(on, &panel->least, true);
		paint_extreme(on, &panel->most, false);
	}
	if (i == 0)
		paint_night(on);
}
