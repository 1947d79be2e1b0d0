/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside away, as text for people: the answer in a sentence, a table, what is to be known
 * of those that need somebody, what all of it stands on, and the power cut.
 */
#include "report/away_view.h"

#include <math.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/moment.h"
#include "report/table.h"

enum { TOLD_OF = 5 }; /* how many are told of beside the table */

static const double COARSE = 600; /* s: times to come are told so coarsely */
static const double NEAR = 1;     /* °C: as cold as the room, all but that */

static size_t count_of(const struct away_view *view, enum away_verdict verdict)
{
	size_t count = 0;

	for (size_t i = 0; i < view->count; i++)
		count += view->list[i].away.verdict == verdict;
	return count;
}

/* So many hours from now on; what is told is never later than what was reckoned. */
static double instant_of(const struct away_view *view, double hours)
{
	double now = view->base.window.to;

	return fmax(floor((now + hours * 3600) / COARSE) * COARSE, now);
}

static char *short_of(const struct away_view *view, double hours, char buf[MEASURE_TEXT])
{
	return moment_short(instant_of(view, hours), view->base.window.to, buf);
}

static char *needed_phrase(const struct away_view *view, const struct outlook *at,
			   char buf[MEASURE_TEXT])
{
	return moment_phrase(instant_of(view, at->away.by), view->base.window.to, buf);
}

/* "T1, T2 and T4": the first `left` of the list; malloc'ed, the caller frees. */
static char *names_of(const struct outlook *const *list, size_t left)
{
	char *text = must_copy("");

	for (; left > 0; list++) {
		left--;
		char *more = must_print("%s%s%s", text, (*list)->enclosure->name,
					left > 1 ? ", " : left == 1 ? " and " : "");

		free(text);
		text = more;
	}
	return text;
}

/* ---- the sentence ------------------------------------------------------------- */

static char *needing_text(const struct away_view *view, size_t needing)
{
	const struct outlook *first = &view->list[0];
	char when[MEASURE_TEXT];

	if (!needing)
		return view->count == 1 ? must_print("%s needs nobody before then",
						     first->enclosure->name)
					: must_print("None of %zu enclosures needs somebody before "
						     "then", view->count);
	needed_phrase(view, first, when);
	if (view->count == 1)
		return must_print("%s needs somebody %s", first->enclosure->name, when);
	return must_print("%zu of %zu enclosures need%s somebody, %s%s %s", needing, view->count,
			  needing == 1 ? "s" : "", first->enclosure->name,
			  needing == 1 ? "," : " first,", when);
}

static void print_answer(const struct away_view *view)
{
	size_t tolerable = count_of(view, AWAY_TOLERABLE), unknown = count_of(view, AWAY_UNKNOWN);
	char *needing = needing_text(view, count_of(view, AWAY_NEEDS));
	char *leaving = tolerable ? must_print("; %zu leave%s %s band, but tolerably", tolerable,
					       tolerable == 1 ? "s" : "",
					       tolerable == 1 ? "its" : "their")
				  : must_copy("");
	char *untold = unknown ? must_print("; of %zu nothing can be told", unknown)
			       : must_copy("");

	if (unknown == view->count)
		terminal_say(view->request->terminal, 0, "Nothing can be told.");
	else
		terminal_print(view->request->terminal, 0, "%s%s%s.", needing, leaving, untold);
	free(needing);
	free(leaving);
	free(untold);
}

/* ---- the table ---------------------------------------------------------------- */

/* "Fri 18:00 (Fri 11:00 to Sat 04:00)"; malloc'ed, the caller frees. */
static char *interval_text(const struct away_view *view, struct spread hours)
{
	char median[MEASURE_TEXT], low[MEASURE_TEXT], high[MEASURE_TEXT];

	if (isinf(hours.low))
		return must_print("not within %s", show_duration(view->base.hours * 3600, low));
	short_of(view, hours.low, low);
	if (isinf(hours.median))
		return must_print("not before %s", low);
	short_of(view, hours.median, median);
	if (isinf(hours.high))
		return must_print("%s (not before %s)", median, low);
	return must_print("%s (%s to %s)", median, low, short_of(view, hours.high, high));
}

static void interval_cell(const struct away_view *view, struct table *table, struct spread hours)
{
	char *text = interval_text(view, hours);

	table_cell(table, text);
	free(text);
}

static void add_forecast(const struct away_view *view, struct table *table,
			 const struct outlook *at)
{
	double longest = at->forecast.longest.high * 3600;
	char text[MEASURE_TEXT];

	if (at->forecast.leaves.high <= 0)
		table_inked(table, INK_BELOW, "below it now");
	else
		interval_cell(view, table, at->forecast.leaves);
	table_cell(table, longest > 0 ? show_duration(ceil(longest / COARSE) * COARSE, text) : "–");
	if (!at->rule->has_limits ||
	    (isinf(at->forecast.leaves.low) && isinf(at->forecast.passes.low)))
		table_cell(table, "–");
	else if (at->forecast.passes.high <= 0)
		table_inked(table, INK_BELOW, "beyond it now");
	else
		interval_cell(view, table, at->forecast.passes);
}

static void add_line(const struct away_view *view, struct table *table, const struct outlook *at)
{
	char *title = enclosure_title(at->enclosure);
	char when[MEASURE_TEXT];
	char *needs = at->away.verdict == AWAY_NEEDS
			      ? must_print("%s %s", away_word(AWAY_NEEDS),
					   needed_phrase(view, at, when))
			      : NULL;

	table_cell(table, title);
	table_cell(table, at->has_place ? place_phrase(at->place) : "–");
	table_inked(table, needs ? INK_STRONG : INK_PLAIN,
		    needs                              ? needs
		    : at->away.verdict == AWAY_UNKNOWN ? "cannot be told"
						       : away_word(at->away.verdict));
	if (at->forecast.known)
		add_forecast(view, table, at);
	else
		for (int i = 0; i < 3; i++)
			table_cell(table, "–");
	free(needs);
	free(title);
}

static void print_table(const struct away_view *view)
{
	static const struct column_head heads[] = {
		{ "enclosure", TO_LEFT }, { "place", TO_LEFT },
		{ "verdict", TO_LEFT },   { "leaves its band", TO_RIGHT },
		{ "longest below", TO_RIGHT }, { "passes its limit", TO_RIGHT },
	};
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < view->count; i++)
		add_line(view, &table, &view->list[i]);
	table_print(&table, view->request->terminal);
	table_clear(&table);
}

/* ---- of single enclosures --------------------------------------------------------- */

/* What uses up the time that there is: "..., which is tolerated for 8 h". */
static char *cause_text(const struct away_view *view, const struct outlook *at)
{
	char text[MEASURE_TEXT], for_long[MEASURE_TEXT], patience[MEASURE_TEXT];

	if (at->forecast.passes.low <= at->away.by)
		return must_print("may pass its limit of %s then",
				  show_value(at->rule->limits.low, HUMIDITY,
					     view->request->conf->units, text));
	show_duration(at->rule->patience, patience);
	if (at->below_for > 0)
		return must_print("has been below its band for %s, and %s are tolerated",
				  whole_minutes(at->below_for, for_long), patience);
	if (at->forecast.leaves.low <= 0)
		return must_print("is below its band, and %s of that are tolerated", patience);
	return must_print("may be below its band from %s on, and %s of that are tolerated",
			  short_of(view, at->forecast.leaves.low, text), patience);
}

static void print_need(const struct away_view *view, const struct outlook *at)
{
	char *title = enclosure_title(at->enclosure), *cause = cause_text(view, at);
	char when[MEASURE_TEXT], exact[MEASURE_TEXT];
	bool later = at->away.by > 0;

	terminal_print(view->request->terminal, 0, "%s needs somebody %s%s%s: the humidity of "
		       "its %s %s.", title, needed_phrase(view, at, when),
		       later ? ", by " : "",
		       later ? show_instant_local(instant_of(view, at->away.by), exact) : "",
		       place_phrase(at->place), cause);
	free(title);
	free(cause);
}

static void print_needs(const struct away_view *view)
{
	size_t needing = count_of(view, AWAY_NEEDS);

	for (size_t i = 0; i < needing && i < TOLD_OF; i++)
		print_need(view, &view->list[i]);
	if (needing > TOLD_OF)
		terminal_print(view->request->terminal, 0, "Of %zu more the table says when.", needing - TOLD_OF);
}

static void print_untold(const struct away_view *view)
{
	const struct conf *conf = view->request->conf;
	const struct outlook **untold = must_calloc(view->count + 1, sizeof *untold);

	for (enum outlook_gap gap = GAP_NONE + 1; gap < GAPS; gap++) {
		size_t count = 0;

		for (size_t i = 0; i < view->count; i++)
			if (view->list[i].gap == gap)
				untold[count++] = &view->list[i];

		char *names = names_of(untold, count);

		if (count)
			terminal_print(view->request->terminal, 0, "Nothing can be told of %s: %s.",
				       names, gap_phrase(gap));
		free(names);
	}
	free(untold);
	for (size_t i = 0; i < conf->enclosure_count; i++)
		if (conf->enclosures[i].out_of_service)
			terminal_print(view->request->terminal, 0, "%s is out of service, and left "
				       "out.", conf->enclosures[i].name);
}

/* ---- what it stands on -------------------------------------------------------------- */

static void print_assumptions(const struct away_view *view)
{
	const struct terminal *terminal = view->request->terminal;
	char from[MEASURE_TEXT];

	terminal_print(terminal, 0, "Assumed: the days to come are like those since %s, heating and "
		       "lamps go on working, and nobody opens or mists. In brackets: the time "
		       "within which it happens 8 times of 10; longest below and the verdict are of "
		       "the unfavourable end.",
		       show_instant_local(view->base.window.from, from));
	if (!view->base.room->present)
		terminal_say(terminal, 0, "Nothing is known of the room's air: anything from quite dry "
			     "to nearly as damp as inside is reckoned with, and so the brackets are "
			     "wide. A probe in the room narrows them.");
	terminal_say(terminal, 0, "This is no promise. Let somebody look in all the same: an animal "
		     "needs eyes on it.");
}

/* ---- the power cut -------------------------------------------------------------------- */

/* "2 h 10 min", "5 h": rounded down, the more so the longer it is. */
static char *about(double hours, char buf[MEASURE_TEXT])
{
	double step = hours < 3 ? COARSE : 1800;

	return show_duration(fmax(floor(hours * 3600 / step) * step, COARSE), buf);
}

/* "would be below 15.0 °C after about 5 h"; malloc'ed, the caller frees. */
static char *cut_text(const struct away_view *view, const struct power_cut *cut)
{
	enum units units = view->request->conf->units;
	char limit[MEASURE_TEXT], near[MEASURE_TEXT], hours[MEASURE_TEXT];
	double cools;

	show_value(cut->limit, TEMPERATURE, units, limit);
	if (cut->hours <= 0)
		return must_print("is below %s already", limit);
	if (isfinite(cut->hours))
		return must_print("would be below %s after about %s", limit,
				  about(cut->hours, hours));
	cools = cooling_hours(cut->cooling.quick, cut->from, view->base.coldest,
			      view->base.coldest + NEAR);
	if (cools <= 0)
		return must_print("is as cold as the room already, and would not fall below %s",
				  limit);
	return must_print("would be within %s of the room after about %s, and not fall below %s",
			  show_difference(NEAR, TEMPERATURE, units, near), about(cools, hours), limit);
}

static void print_cut(const struct away_view *view, const struct outlook *at)
{
	const struct power_cut *cut = &at->cut;
	char *title = enclosure_title(at->enclosure), *what = cut_text(view, cut);

	terminal_print(view->request->terminal, 2, "%s: the %s %s (time constant %.1f h, from %zu "
		       "time%s without heating).", title, place_phrase(cut->place), what,
		       cut->cooling.quick, cut->cooling.count, cut->cooling.count == 1 ? "" : "s");
	free(what);
	free(title);
}

static int colder_first(const void *a, const void *b)
{
	const struct outlook *one = *(const struct outlook *const *)a;
	const struct outlook *other = *(const struct outlook *const *)b;

	if (one->cut.hours != other->cut.hours)
		return one->cut.hours < other->cut.hours ? -1 : 1;
	return (one > other) - (one < other);
}

static void print_cuts(const struct away_view *view)
{
	const struct terminal *terminal = view->request->terminal;
	const struct outlook **list = must_calloc(view->count, sizeof *list);
	size_t known = 0, unknown = view->count;
	char room[MEASURE_TEXT];

	for (size_t i = 0; i < view->count; i++)
		if (view->list[i].cut.known)
			list[known++] = &view->list[i];
	for (size_t i = view->count; i-- > 0;)
		if (!view->list[i].cut.known)
			list[--unknown] = &view->list[i];
	if (known) {
		qsort(list, known, sizeof *list, colder_first);
		terminal_print(terminal, 0, "In a power cut now, by Newton's law of cooling and "
			       "in a room that stays at %s, its coldest of the last day (a "
			       "house whose heating is out gets colder):",
			       show_value(view->base.coldest, TEMPERATURE,
					  view->request->conf->units, room));
	}
	for (size_t i = 0; i < known; i++)
		print_cut(view, list[i]);

	char *names = names_of(list + known, view->count - known);

	if (known < view->count)
		terminal_print(terminal, 0, "What a power cut would do to %s is not known: %s.",
			       names, view->base.room_temperature
					      ? "not seen without heating for long enough, or "
						"without a limit for its temperature"
					      : "nothing is known of the room's temperature");
	free(names);
	free(list);
}

void away_print_text(const struct away_view *view)
{
	const struct terminal *terminal = view->request->terminal;
	char from[MEASURE_TEXT], to[MEASURE_TEXT], span[MEASURE_TEXT];
	double now = view->base.window.to;

	if (!view->count) {
		terminal_say(terminal, 0, "There is no enclosure in service.");
		return;
	}
	terminal_print(terminal, 0, "If nobody comes from %s to %s (%s)",
		       show_instant_local(now, from),
		       show_instant_local(now + view->base.hours * 3600, to),
		       show_duration(view->base.hours * 3600, span));
	fputc('\n', terminal->file);
	print_answer(view);
	fputc('\n', terminal->file);
	print_table(view);
	fputc('\n', terminal->file);
	print_needs(view);
	print_untold(view);
	if (count_of(view, AWAY_UNKNOWN) < view->count)
		print_assumptions(view);
	fputc('\n', terminal->file);
	print_cuts(view);
}
