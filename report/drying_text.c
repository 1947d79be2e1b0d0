/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside drying of the whole room as text: who dries quickest, how the builds
 * compare, what has changed and what could not be told.
 */
#include "report/drying_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/drying.h"
#include "report/table.h"

/* ---- the order ------------------------------------------------------------------ */

/* Those with an edge by the hours to it, then those with a time constant, then all others. */
static int by_quickness(const void *a, const void *b)
{
	const struct drying_entry *one = *(const struct drying_entry *const *)a;
	const struct drying_entry *other = *(const struct drying_entry *const *)b;
	const struct spread *first[] = { &one->summary.edge.spread, &one->summary.time_constant };
	const struct spread *second[] = { &other->summary.edge.spread,
					  &other->summary.time_constant };

	for (int i = 0; i < 2; i++) {
		if ((first[i]->count > 0) != (second[i]->count > 0))
			return first[i]->count > 0 ? -1 : 1;
		if (first[i]->count && first[i]->median != second[i]->median)
			return first[i]->median < second[i]->median ? -1 : 1;
	}
	return (one > other) - (one < other); /* as in the configuration */
}

/* ---- the table ------------------------------------------------------------------ */

static void spread_cells(struct table *table, const struct spread *spread)
{
	char text[DRYING_WORDS];

	table_cell(table, drying_hours(spread->count > 0, spread->median, text));
	table_cell(table, drying_hours_range(spread->count > 1, spread->low, spread->high, text));
}

static void percent_cell(struct table *table, bool known, double percent)
{
	char text[MEASURE_TEXT];

	table_cell(table, known ? show_value(percent, HUMIDITY, CELSIUS, text) : "–");
}

static void add_row(struct table *table, const struct drying_entry *entry)
{
	const struct drying_summary *s = &entry->summary;
	char *title = enclosure_title(entry->enclosure);
	char text[DRYING_WORDS];

	table_cell(table, title);
	table_cell(table, entry->enclosure->has_build ? build_word(entry->enclosure->build) : "–");
	table_cell(table, drying_rate(drying_has_rate(entry), s->a_day, text));
	spread_cells(table, &s->time_constant);
	percent_cell(table, s->has_floor, s->floor_median);
	table_cell(table, drying_hours(s->edge.spread.count > 0, s->edge.spread.median, text));
	table_cell(table, drying_hours(s->edge.has_dry, s->edge.dry, text));
	table_cell(table, drying_hours(s->limit.spread.count > 0, s->limit.spread.median, text));
	table_cell(table, drying_rate(s->air_changes.count > 0, s->air_changes.median, text));
	free(title);
}

static void print_room(const struct drying_view *view)
{
	static const struct column_head heads[] = {
		{ "enclosure", TO_LEFT },	 { "build", TO_LEFT },
		{ "misted a day", TO_RIGHT },	 { "time constant", TO_RIGHT },
		{ "range", TO_RIGHT },	 { "floor", TO_RIGHT },
		{ "to band's edge", TO_RIGHT },	 { "dry quarter", TO_RIGHT },
		{ "to limit", TO_RIGHT },	 { "air changes/h", TO_RIGHT },
	};
	const struct drying_entry **order = must_calloc(view->count, sizeof *order);
	struct table table;

	for (size_t i = 0; i < view->count; i++)
		order[i] = &view->list[i];
	if (view->count)
		qsort(order, view->count, sizeof *order, by_quickness);
	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < view->count; i++)
		if (order[i]->has_place && order[i]->summary.mistings)
			add_row(&table, order[i]);
	if (table.count)
		table_print(&table, view->request->terminal);
	else
		terminal_say(view->request->terminal, 0, "No misting was seen in this time.");
	table_clear(&table);
	free(order);
}

/* ---- by build ------------------------------------------------------------------- */

struct build_values {
	double *constants, *rates; /* medians of enclosures */
	size_t constant_count, rate_count;
};

static void least_and_most(double *values, size_t count, double *least, double *most)
{
	*least = INFINITY;
	*most = -INFINITY;
	for (size_t i = 0; i < count; i++) {
		*least = fmin(*least, values[i]);
		*most = fmax(*most, values[i]);
	}
}

static void add_build(struct table *table, enum build build, struct build_values *values)
{
	double least, most;
	char text[DRYING_WORDS], low[DRYING_WORDS], high[DRYING_WORDS];
	char *count = must_print("%zu", values->constant_count), *rates;

	table_cell(table, build_word(build));
	table_cell(table, count);
	least_and_most(values->constants, values->constant_count, &least, &most);
	table_cell(table, drying_hours(true, spread_of(values->constants,
						       values->constant_count).median, text));
	table_cell(table, values->constant_count > 1 ? drying_hours_range(true, least, most, text)
						     : "–");
	least_and_most(values->rates, values->rate_count, &least, &most);
	table_cell(table, drying_rate(values->rate_count > 0,
				      spread_of(values->rates, values->rate_count).median, text));
	rates = must_print("%s..%s", drying_rate(true, least, low), drying_rate(true, most, high));
	table_cell(table, values->rate_count > 1 ? rates : "–");
	free(rates);
	free(count);
}

static void take_build(const struct drying_view *view, enum build build,
		       struct build_values *out)
{
	for (size_t i = 0; i < view->count; i++) {
		const struct drying_entry *entry = &view->list[i];
		const struct drying_summary *s = &entry->summary;

		if (!entry->enclosure->has_build || entry->enclosure->build != build)
			continue;
		if (s->time_constant.count)
			out->constants[out->constant_count++] = s->time_constant.median;
		if (s->air_changes.count)
			out->rates[out->rate_count++] = s->air_changes.median;
	}
}

static void print_builds(const struct drying_view *view)
{
	static const struct column_head heads[] = {
		{ "build", TO_LEFT },	       { "enclosures", TO_RIGHT },
		{ "time constant", TO_RIGHT }, { "from..to", TO_RIGHT },
		{ "air changes/h", TO_RIGHT }, { "from..to", TO_RIGHT },
	};
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (int build = 0; build < BUILDS; build++) {
		struct build_values values = {
			.constants = must_calloc(view->count, sizeof(double)),
			.rates = must_calloc(view->count, sizeof(double)),
		};

		take_build(view, (enum build)build, &values);
		if (values.constant_count)
			add_build(&table, (enum build)build, &values);
		free(values.constants);
		free(values.rates);
	}
	if (table.count > table.columns) { /* one build has none to be compared with */
		fputc('\n', view->request->terminal->file);
		table_print(&table, view->request->terminal);
	}
	table_clear(&table);
}

/* ---- what is to be said besides --------------------------------------------------- */

static void print_trends(const struct drying_view *view)
{
	bool first = true;

	for (size_t i = 0; i < view->count; i++) {
		if (!view->list[i].summary.trend.told)
			continue;
		char *text = drying_trend_text(&view->list[i]);

		if (first)
			fputc('\n', view->request->terminal->file);
		first = false;
		terminal_say(view->request->terminal, 0, text);
		free(text);
	}
}

/* Adds to a list of names. */
static char *with(char *list, char *more)
{
	char *longer = must_print("%s%s%s", list, *list ? ", " : "", more);

	free(list);
	free(more);
	return longer;
}

/* One reason and whose dryings; of those too short the last ones apart, which go on. */
static void print_reason(const struct drying_view *view, enum drying_verdict verdict,
			 bool unfinished)
{
	char *names = must_copy("");

	for (size_t i = 0; i < view->count; i++) {
		const struct drying_summary *s = &view->list[i].summary;
		size_t last = verdict == DRYING_SHORT && s->is_unfinished;
		size_t count = unfinished ? last : s->rejected[verdict] - last;

		if (count)
			names = with(names, must_print("%s %zu", view->list[i].enclosure->name, count));
	}
	if (*names)
		terminal_print(view->request->terminal, 2, "%s: %s",
			       unfinished ? DRYING_UNFINISHED : drying_reason(verdict), names);
	free(names);
}

static void print_reasons(const struct drying_view *view)
{
	const struct terminal *terminal = view->request->terminal;
	size_t all = 0, fitted = 0;

	for (size_t i = 0; i < view->count; i++) {
		all += view->list[i].summary.mistings;
		fitted += view->list[i].summary.fitted;
	}
	if (fitted == all)
		return;
	fputc('\n', terminal->file);
	terminal_print(terminal, 0, "Of %zu dryings %zu could not be fitted:", all, all - fitted);
	for (int verdict = DRYING_FITTED + 1; verdict < DRYING_VERDICTS; verdict++) {
		print_reason(view, (enum drying_verdict)verdict, false);
		if (verdict == DRYING_SHORT)
			print_reason(view, DRYING_SHORT, true);
	}
}

static bool is_unmisted(const struct drying_entry *entry)
{
	return entry->has_place && !entry->summary.mistings;
}

static bool is_unmeasured(const struct drying_entry *entry)
{
	return !entry->has_place;
}

/* How far back a misting can be seen is not the same as the window: by a tenth and more. */
static bool is_short(const struct drying_entry *entry, const struct window *window)
{
	return entry->has_place && entry->dryings.known < 0.9 * (window->to - window->from);
}

static void print_names(const struct drying_view *view, bool wanted(const struct drying_entry *),
			const char *format)
{
	char *names = must_copy("");

	for (size_t i = 0; i < view->count; i++)
		if (wanted(&view->list[i]))
			names = with(names, must_copy(view->list[i].enclosure->name));
	if (*names)
		terminal_print(view->request->terminal, 0, "%s %s.", format, names);
	free(names);
}

static void print_known(const struct drying_view *view)
{
	const struct window *window = &view->request->window;
	double least = INFINITY, most = 0;
	char low[MEASURE_TEXT], high[MEASURE_TEXT];

	for (size_t i = 0; i < view->count; i++) {
		if (!is_short(&view->list[i], window))
			continue;
		least = fmin(least, view->list[i].dryings.known);
		most = fmax(most, view->list[i].dryings.known);
	}
	if (most <= 0)
		return;
	show_duration(floor(least / 3600) * 3600, low);
	show_duration(ceil(most / 3600) * 3600, high);
	terminal_print(view->request->terminal, 0, "Mistings could be seen in %s%s%s of this time only: "
		       "the rest is not recorded, or in rows too coarse to show them.",
		       low, strcmp(low, high) ? " to " : "", strcmp(low, high) ? high : "");
}

/* How old the newest record is. */
void drying_say_newest(const struct drying_view *view)
{
	struct gathered gathered = { .newest = view->gathered.newest };
	char *text = rows_text(&gathered, view->request->window);

	say_lines(view->request->terminal, text);
	free(text);
}

static void print_notes(const struct drying_view *view)
{
	const struct terminal *terminal = view->request->terminal;

	fputc('\n', terminal->file);
	print_names(view, is_unmisted, "No misting was seen in");
	print_names(view, is_unmeasured, "No humidity is measured in");
	print_known(view);
	terminal_say(terminal, 0, "In a time constant 63 % of the way from a misting's top down to "
		     "the floor is gone. The range holds 80 dryings of 100; of fewer than nine it is "
		     "from the least to the most. Hours to the band's edge and to the limit count from the misting; one "
		     "drying in four is as quick as the dry quarter; never is meant between mistings "
		     "like these: for days without, see warmside away. Air changes are a lower bound "
		     "while substrate, wood and moss give off water.");
	drying_say_newest(view);
}

void drying_text(const struct drying_view *view)
{
	say_window(view->request);
	if (view->only) {
		drying_text_of_one(view);
		return;
	}
	print_room(view);
	print_builds(view);
	print_trends(view);
	print_reasons(view);
	print_notes(view);
}
