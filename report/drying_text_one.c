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

enum { LEAST_THIRD = 3 }; /* dryings, to say that it changed */

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

static void add_row(struct table *table, const struct drying *d, bool last)
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
	table_cell(table, fitted ? "" : last && d->verdict == DRYING_SHORT ? DRYING_UNFINISHED
									   : drying_reason(d->verdict));
}

static void print_dryings(const struct dryings *dryings, const struct terminal *terminal)
{
	static const struct column_head heads[] = {
		{ "misted", TO_LEFT },	       { "from", TO_RIGHT },
		{ "to", TO_RIGHT },	       { "time constant", TO_RIGHT },
		{ "its 80 % range", TO_RIGHT }, { "floor", TO_RIGHT },
		{ "to band's edge", TO_RIGHT }, { "to limit", TO_RIGHT },
		{ "not fitted", TO_LEFT },
	};
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < dryings->count; i++)
		add_row(&table, &dryings->list[i], i + 1 == dryings->count);
	table_print(&table, terminal);
	table_clear(&table);
}

/* ---- what they come to -------------------------------------------------------------- */

static void say_count(const struct drying_entry *entry, const struct terminal *terminal)
{
	const struct drying_summary *s = &entry->summary;
	char rate[DRYING_WORDS];

	terminal_print(terminal, 0, "%zu misting%s, %s a day; %zu drying%s fitted.", s->mistings,
		       s->mistings == 1 ? "" : "s", drying_rate(drying_has_rate(entry), s->a_day, rate),
		       s->fitted, s->fitted == 1 ? "" : "s");
}

static void say_constant(const struct drying_summary *s, const struct terminal *terminal)
{
	char median[DRYING_WORDS], range[DRYING_WORDS], floor[MEASURE_TEXT], moved[MEASURE_TEXT];
	char *share;

	if (!s->time_constant.count)
		return;
	drying_hours_range(true, s->time_constant.low, s->time_constant.high, range);
	share = drying_share_text(&s->time_constant, range);
	show_value(s->floor_humidity, HUMIDITY, CELSIUS, moved);
	terminal_print(terminal, 0, "It dries with a time constant of %s (%s) towards a floor of %s.%s%s%s",
		       drying_hours(true, s->time_constant.median, median), share,
		       show_value(s->floor_median, HUMIDITY, CELSIUS, floor),
		       drying_floor_moves(s) ? " In the room's air of the last day that would be " : "",
		       drying_floor_moves(s) ? moved : "", drying_floor_moves(s) ? "." : "");
	free(share);
}

static void say_reach(const struct drying_summary *s, const struct drying_reach *reach,
		      const char *what, const struct terminal *terminal)
{
	char median[DRYING_WORDS], range[DRYING_WORDS], dry[DRYING_WORDS], longest[DRYING_WORDS];
	char *share;

	if (!reach->spread.count)
		return;
	drying_hours(true, s->longest, longest);
	if (isinf(reach->spread.median)) {
		char *seen = reach->seen ? must_print("%zu", reach->seen) : must_copy("none");

		terminal_print(terminal, 0, "In %s of %zu dryings of up to %s did it come down to %s%s.", seen,
			       reach->watched, longest, what,
			       reach == &s->edge ? "; for days without misting see warmside away" : "");
		free(seen);
		return;
	}
	drying_hours_range(true, reach->spread.low, reach->spread.high, range);
	share = drying_share_text(&reach->spread, range);
	terminal_print(terminal, 0, "It comes to %s %s after the misting (%s%s%s%s); seen in %zu of %zu "
		       "dryings of up to %s.", what, drying_hours(true, reach->spread.median, median),
		       share, reach->has_dry ? "; one in four: " : "",
		       reach->has_dry ? drying_hours(true, reach->dry, dry) : "",
		       reach->has_dry ? " or less" : "", reach->seen, reach->watched, longest);
	free(share);
}

/* Medians hide what holds of a part of the window only. */
static void say_change(const struct drying_reach *reach, const struct terminal *terminal)
{
	bool begun = reach->first_seen == 0 && 3 * reach->last_seen >= 2 * reach->third;
	bool ended = reach->last_seen == 0 && 3 * reach->first_seen >= 2 * reach->third;

	if (reach->third < LEAST_THIRD || (!begun && !ended))
		return;
	terminal_print(terminal, 0, "Of the first %zu dryings %zu came down to the band's edge, of the "
		       "last %zu %zu: it is not as it was.", reach->third, reach->first_seen,
		       reach->third, reach->last_seen);
}

/* Days on which nobody came say most. */
static void say_longest(const struct drying_entry *entry, const struct terminal *terminal)
{
	const struct drying_summary *s = &entry->summary;
	const struct drying *d;
	char at[MEASURE_TEXT], longest[DRYING_WORDS], hours[DRYING_WORDS];

	if (s->longest <= DRYING_DAY || !s->edge.spread.count)
		return;
	d = &entry->dryings.list[s->longest_at];
	drying_hours(true, s->longest, longest);
	show_instant_local(d->at, at);
	if (d->edge.reach == REACH_SEEN)
		terminal_print(terminal, 0, "Its longest drying, %s from %s on, came to the band's edge "
			       "after %s.", longest, at, drying_hours(true, d->edge.hours, hours));
	else
		terminal_print(terminal, 0, "Its longest drying, %s from %s on, did not come to the "
			       "band's edge.", longest, at);
}

static void say_air(const struct drying_summary *s, const struct terminal *terminal)
{
	char median[DRYING_WORDS], low[DRYING_WORDS], high[DRYING_WORDS];
	char *range, *share;

	if (!s->air_changes.count)
		return;
	range = must_print("%s..%s", drying_rate(true, s->air_changes.low, low),
			   drying_rate(true, s->air_changes.high, high));
	share = drying_share_text(&s->air_changes, range);
	terminal_print(terminal, 0, "Its air changes at least %s times an hour (%s): more while substrate, "
		       "wood and moss give off water.",
		       drying_rate(true, s->air_changes.median, median), share);
	free(share);
	free(range);
}

static void say_estimate(const struct drying_summary *s, const struct terminal *terminal)
{
	const struct spread *edge = &s->edge.spread;
	char share[DRYING_WORDS], longest[DRYING_WORDS];

	if (!edge->count)
		return;
	if (edge->median < DRYING_DAY)
		terminal_print(terminal, 0, "Estimate: to hold %d h between mistings, the air change "
			       "must be %s of today's, if the time to the band's edge goes with one "
			       "over it.", DRYING_DAY,
			       drying_rate(true, edge->median / DRYING_DAY, share));
	else if (s->long_count)
		terminal_print(terminal, 0, "Of %zu drying%s of %d h or more %zu held the band for %d h, or "
			       "to the end.", s->long_count, s->long_count == 1 ? "" : "s", DRYING_LONG,
			       s->long_held, DRYING_DAY);
	else
		terminal_print(terminal, 0, "Whether it holds the band for %d h was not seen: its dryings "
			       "were %s long at most.", DRYING_DAY,
			       drying_hours(true, s->longest, longest));
}

static void say_summary(const struct drying_entry *entry, const struct terminal *terminal)
{
	const struct drying_summary *s = &entry->summary;

	say_count(entry, terminal);
	say_constant(s, terminal);
	say_reach(s, &s->edge, "the band's edge", terminal);
	say_reach(s, &s->limit, "its lower limit", terminal);
	say_longest(entry, terminal);
	say_air(s, terminal);
	if (s->trend.told) {
		char *text = drying_trend_text(entry);

		terminal_say(terminal, 0, text);
		free(text);
	}
	say_change(&s->edge, terminal);
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
