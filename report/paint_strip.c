/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The strip above a plot: when alerts were raised and cleared, and when it
 * was misted; see paint.h.
 */
#include "report/paint.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"

enum {
	POINTER = 7, DROP = 8,  /* px: their heights */
	SIGN_APART = 8,         /* px between the middles of two signs */
	LABEL_APART = 6,        /* px between two labels */
	LABEL_ABOVE = 9,        /* px from the plot to a label's baseline */
};

/* Without a rim, which would eat into the signs below. */
static const struct font SIGN_LABEL = { .size = 11, .colour = COLOUR_INK };

bool paint_shows_mistings(const struct graph_panel *panel)
{
	return panel->series.quantity == HUMIDITY && panel->mistings && panel->mistings->count &&
	       curve_shows_mistings(&panel->curve);
}

/* Stretches of the strip that labels stand on. */
struct taken {
	struct span {
		double from, to;
	} *list;
	size_t count;
};

static bool take(struct taken *taken, double from, double to)
{
	for (size_t i = 0; i < taken->count; i++)
		if (from < taken->list[i].to + LABEL_APART && to > taken->list[i].from - LABEL_APART)
			return false;
	taken->list = must_resize(taken->list, taken->count + 1, sizeof *taken->list);
	taken->list[taken->count++] = (struct span){ from, to };
	return true;
}

/* Above its sign, or else beside that; not at all where there is no room.  When
 * the next sign is near, to the left first, so that there is room for its own. */
static void write_label(const struct place_on *on, struct taken *taken, double x, double next,
			const char *text)
{
	double width = sheet_text_width(SIGN_LABEL, text);
	double middle = x - width / 2, to_left = x - width;
	bool near = next - x < width + LABEL_APART;
	const double begins[] = { near ? to_left : middle, near ? middle : to_left, x };

	for (size_t i = 0; i < sizeof begins / sizeof *begins; i++) {
		double from = begins[i], to = from + width;

		if (from < on->plot.left - MARGIN_LEFT / 2.0 || to > on->graph->width ||
		    !take(taken, from, to))
			continue;
		sheet_text(on->sheet, from, on->plot.top - LABEL_ABOVE, AT_START, SIGN_LABEL, text);
		return;
	}
}

/* "alert 08:10" */
static char *label(const struct place_on *on, const char *word, double instant)
{
	char at[TICK_TEXT];

	return must_print("%s %s", word, brief_instant(instant, on->graph->window, at));
}

static const char *alert_word(const struct alert_record *record)
{
	return record->event == RAISED ? "alert" : record->event == WORSENED ? "worse" : "over";
}

static void paint_alerts(const struct place_on *on, struct taken *taken)
{
	for (size_t i = 0; i < on->panel->alert_count; i++) {
		const struct alert_record *record = on->panel->alerts[i];
		double x = panel_x(&on->plot, record->time);
		double next = i + 1 < on->panel->alert_count
				      ? panel_x(&on->plot, on->panel->alerts[i + 1]->time)
				      : INFINITY;
		char *text = label(on, alert_word(record), record->time);

		sheet_pointer(on->sheet, x, on->plot.top, POINTER, COLOUR_INK);
		write_label(on, taken, x, next, text);
		free(text);
	}
}

/* A misting often ends an alert: its drop then stands beside the pointer. */
static double beside_pointers(const struct place_on *on, double instant)
{
	double x = panel_x(&on->plot, instant);

	for (size_t i = 0; i < on->panel->alert_count; i++) {
		double pointer = panel_x(&on->plot, on->panel->alerts[i]->time);

		if (fabs(pointer - x) < SIGN_APART)
			x = pointer + (pointer >= x ? -SIGN_APART : SIGN_APART);
	}
	return x;
}

static bool within(const struct window *window, double instant)
{
	return instant >= window->from && instant < window->to;
}

/* Whether all of them could be labelled; else none is, lest some seem to
 * matter more. */
static bool room_for_labels(const struct place_on *on)
{
	const struct mistings *mistings = on->panel->mistings;
	char *text = label(on, "misted", on->graph->window.to);
	double each = sheet_text_width(SIGN_LABEL, text) + LABEL_APART, needed = 0;

	free(text);
	for (size_t i = 0; i < mistings->count; i++)
		needed += within(&on->graph->window, mistings->list[i].at) ? each : 0;
	return on->graph->strip_height > 0 && needed <= on->plot.width;
}

static void paint_mistings(const struct place_on *on, struct taken *taken)
{
	const struct mistings *mistings = on->panel->mistings;
	bool labelled = room_for_labels(on);
	double last = -INFINITY;

	for (size_t i = 0; i < mistings->count; i++) {
		double at = mistings->list[i].at, x = beside_pointers(on, at);

		if (!within(&on->graph->window, at) || x < last + SIGN_APART)
			continue;
		sheet_drop(on->sheet, x, on->plot.top - 1, DROP, COLOUR_QUIET);
		last = x;
		if (!labelled)
			continue;
		char *text = label(on, "misted", at);
		double next = i + 1 < mistings->count
				      ? panel_x(&on->plot, mistings->list[i + 1].at)
				      : INFINITY;

		write_label(on, taken, x, next, text);
		free(text);
	}
}

void paint_strip(const struct place_on *on)
{
	struct taken taken = { 0 };

	paint_alerts(on, &taken);
	if (paint_shows_mistings(on->panel))
		paint_mistings(on, &taken);
	free(taken.list);
}
