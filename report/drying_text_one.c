/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside drying of one enclosure as text: each of its dryings, and what they
 * come to.
 */
#include "report/drying_view.h"

#include <math.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/drying.h"
#include "report/table.h"

static const double HOLD = 24; /* h between mistings that the estimate is for */

/* ---- the dryings ------------------------------------------------------------------ */

static void reached_cell(struct table *table, const struct reached *reached)
{
	bool never = reached->reach == REACH_NEVER;
	char hours[DRYING_WORDS];
	char *text = must_print("%s%s", reached->reach == REACH_FORETOLD ? "~" : "",
				drying_hours(never || is_reached(reached),
					     never ? INFINITY : reached->hours, hours));

	table_cell(table, text);
	free(text);
}

static void percent_cell(struct table *table, bool known, double percent)
{
	char text[MEASURE_TEXT];

	table_cell(table, known ? show_value(percent, HUMIDITY, CELSIUS, text) : "–");
}

static void add_row(struct table *table, const struct drying *d)
{
	bool fitted = d->verdict == DRYING_FITTED;
	struct range range = fitted ? drying_time_constant_range(d) : (struct range){ 0 };
	char text[MEASURE_TEXT], words[DRYING_WORDS];

	table_cell(table, show_instant_local(d->at, text));
	percent_cell(table, true, d->before);
	percent_cell(table, true, d->top);
	table_cell(table, drying_hours(fitted, d->time_constant, words));
	table_cell(table, drying_hours_range(fitted, range.low, range.high, words));
	percent_cell(table, fitted, d->floor_humidity);
	reached_cell(table, &d->edge);
	reached_cell(table, &d->limit);
	table_cell(table, fitted ? "" : drying_reason(d->verdict));
}

static void print_dryings(const struct dryings *dryings, const struct terminal *terminal)
{
	static const struct column_head heads[] = {
		{ "misted", TO_LEFT },	       { "from", TO_RIGHT },
		{ "to", TO_RIGHT },	       { "time constant", TO_RIGHT },
		{ "80 %", TO_RIGHT },	       { "floor", TO_RIGHT },
		{ "to band's edge", TO_RIGHT }, { "to limit", TO_RIGHT },
		{ "not fitted", TO_LEFT },
	};
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < dryings->count; i++)
		add_row(&table, &dryings->list[i]);
	table_print(&table, terminal);
	table_clear(&table);
}

/* ---- what they come to -------------------------------------------------------------- */

static void say_count(const struct drying_summary *s, const struct terminal *terminal)
{
	char rate[DRYING_WORDS];

	terminal_print(terminal, 0, "%zu misting%s, %s a day; %zu drying%s fitted.", s->mistings,
		       s->mistings == 1 ? "" : "s", drying_rate(s->has_rate, s->a_day, rate),
		       s->fitted, s->fitted == 1 ? "" : "s");
}

static void say_constant(const struct drying_summary *s, const struct terminal *terminal)
{
	char median[DRYING_WORDS], range[DRYING_WORDS], floor[MEASURE_TEXT];

	if (!s->time_constant.count)
		return;
	terminal_print(terminal, 0, "It dries with a time constant of %s (80 %% of dryings: %s) towards "
		       "a floor of %s%s.",
		       drying_hours(true, s->time_constant.median, median),
		       drying_hours_range(true, s->time_constant.low, s->time_constant.high, range),
		       show_value(s->floor_humidity, HUMIDITY, CELSIUS, floor),
		       s->floor_is_moved ? " in the room's air of the last day" : "");
}

static void say_reach(const struct drying_reach *reach, const char *what,
		      const struct terminal *terminal)
{
	char median[DRYING_WORDS], range[DRYING_WORDS], dry[DRYING_WORDS];

	if (!reach->spread.count)
		return;
	if (isinf(reach->spread.low)) {
		terminal_print(terminal, 0, "It does not come down to %s between mistings like these.", what);
		return;
	}
	drying_hours_range(true, reach->spread.low, reach->spread.high, range);
	if (isinf(reach->spread.median))
		terminal_print(terminal, 0, "Mostly it does not come down to %s (80 %% of dryings: %s after "
			       "the misting).", what, range);
	else
		terminal_print(terminal, 0, "It comes to %s %s after the misting (80 %% of dryings: %s; one "
			       "in four: %s or less).", what,
			       drying_hours(true, reach->spread.median, median), range,
			       drying_hours(true, reach->dry, dry));
}

static void say_air(const struct drying_summary *s, const struct terminal *terminal)
{
	char median[DRYING_WORDS], low[DRYING_WORDS], high[DRYING_WORDS];

	if (s->air_changes.count)
		terminal_print(terminal, 0, "Its air changes at least %s times an hour (80 %% of dryings: "
			       "%s..%s): more while substrate, wood and moss give off water.",
			       drying_rate(true, s->air_changes.median, median),
			       drying_rate(true, s->air_changes.low, low),
			       drying_rate(true, s->air_changes.high, high));
}

static void say_estimate(const struct drying_summary *s, const struct terminal *terminal)
{
	const struct spread *edge = &s->edge.spread;
	char hours[DRYING_WORDS], share[DRYING_WORDS];

	if (!edge->count)
		return;
	if (edge->median >= HOLD)
		terminal_print(terminal, 0, "Most dryings hold the band for %.0f h as it is%s%s.", HOLD,
			       isinf(edge->median) ? "" : ": half of them for more than ",
			       isinf(edge->median) ? "" : drying_hours(true, edge->median, hours));
	else
		terminal_print(terminal, 0, "Estimate: to hold %.0f h between mistings, the air change "
			       "must be %s of today's, if the time to the band's edge goes with one "
			       "over it.", HOLD, drying_rate(true, edge->median / HOLD, share));
}

static void say_summary(const struct drying_entry *entry, const struct terminal *terminal)
{
	const struct drying_summary *s = &entry->summary;

	say_count(s, terminal);
	say_constant(s, terminal);
	say_reach(&s->edge, "the band's edge", terminal);
	say_reach(&s->limit, "its lower limit", terminal);
	say_air(s, terminal);
	if (s->trend.told) {
		char *text = drying_trend_text(entry);

		terminal_say(terminal, 0, text);
		free(text);
	}
	say_estimate(s, terminal);
}

void drying_text_of_one(const struct drying_view *view)
{
	const struct drying_entry *entry = &view->list[0];
	const struct terminal *terminal = view->request->terminal;
	char *title = enclosure_title(entry->enclosure);

	if (!entry->has_place) {
		terminal_print(terminal, 0, "No humidity is measured in %s.", title);
	} else {
		char *phrase = series_phrase((struct series){ .place = entry->dryings.place, .quantity = HUMIDITY });

		terminal_print(terminal, 0, "%s, %s", title, phrase);
		free(phrase);
		if (entry->summary.mistings) {
			print_dryings(&entry->dryings, terminal);
			fputc('\n', terminal->file);
			say_summary(entry, terminal);
		} else {
			terminal_say(terminal, 0, "No misting was seen in this time.");
		}
	}
	free(title);
	drying_say_newest(view);
}
