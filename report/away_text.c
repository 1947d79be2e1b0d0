/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside away, as text for people: what stands, the answer in a sentence, a table, and what is
 * to be known of those that need somebody.
 */
#include "report/away_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/alerts_text.h"
#include "report/moment.h"
#include "report/table.h"

enum { TOLD_OF = 5 }; /* how many are told of beside the table */

static const double COARSE = 600; /* s: times to come are told so coarsely */

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

char *away_names(const struct outlook *const *list, size_t count)
{
	char *text = must_copy("");

	for (size_t i = 0; i < count; i++) {
		size_t left = count - i - 1;
		char *more = must_print("%s%s%s", text, list[i]->enclosure->name,
					left > 1 ? ", " : left == 1 ? " and " : "");

		free(text);
		text = more;
	}
	return text;
}

/* ---- what stands --------------------------------------------------------------- */

/* The gravest, and how many: what is foretold is of humidity only. */
static void print_standing(const struct away_view *view)
{
	const struct terminal *terminal = view->request->terminal;
	const struct alert_list *alerts = &view->standing.alerts;

	if (!view->standing.known)
		terminal_say(terminal, 0, "The alert log cannot be read: what stands is not known.");
	if (!alerts->count)
		return;

	const struct alert_record *first = &alerts->list[0];
	char *phrase = alert_phrase(first);
	char *since = time_text(first->has_since ? first->since : first->time, view->base.window.to);
	char *how = alerts->count > 1 ? must_print("%zu alerts stand, the gravest", alerts->count)
				      : must_copy("An alert stands");
	bool room = strcmp(first->enclosure, "room") == 0; /* and the phrase says so */
	const char *name = room ? "" : *first->enclosure ? first->enclosure : "Warmside";

	terminal_print(terminal, 0, "%s: %s%s%s since %s. See to that first.", how, name,
		       room ? "" : ", ", phrase, since);
	free(how);
	free(since);
	free(phrase);
}

/* ---- the sentence ------------------------------------------------------------- */

/* "Of T1 and T4 nothing can be told. ", or nothing; malloc'ed, the caller frees. */
static char *unknown_text(const struct away_view *view, size_t unknown)
{
	const struct outlook **list = must_calloc(view->count + 1, sizeof *list);
	size_t count = 0;
	char *names, *text;

	for (size_t i = 0; i < view->count; i++)
		if (view->list[i].away.verdict == AWAY_UNKNOWN)
			list[count++] = &view->list[i];
	names = unknown > TOLD_OF ? must_print("%zu enclosures", unknown) : away_names(list, count);
	text = unknown ? must_print("Of %s nothing can be told. ", names) : must_copy("");
	free(names);
	free(list);
	return text;
}

/* How many of those that need somebody need it at once. */
static size_t count_now(const struct away_view *view, size_t needing)
{
	size_t count = 0;

	for (size_t i = 0; i < needing; i++)
		count += instant_of(view, view->list[i].away.by) <= view->base.window.to;
	return count;
}

/* Of `known` enclosures; those that need somebody are the first. */
static char *needing_text(const struct away_view *view, size_t needing, size_t known)
{
	const char *name = view->list[0].enclosure->name;
	const char *other = known < view->count ? "other " : "";
	size_t now = count_now(view, needing);
	char when[MEASURE_TEXT];

	if (view->count == 1)
		return needing ? must_print("%s needs somebody %s", name,
					    needed_phrase(view, &view->list[0], when))
			       : must_print("%s needs nobody before then", name);
	if (!needing)
		return known == 1 ? must_print("the other enclosure needs nobody before then")
				  : must_print("none of the %s%zu enclosures needs somebody before "
					       "then", other, known);
	needed_phrase(view, &view->list[0], when);
	if (known == 1)
		return must_print("the other enclosure needs somebody, %s, %s", name, when);
	if (needing == 1)
		return must_print("1 of the %s%zu enclosures needs somebody, %s, %s", other, known,
				  name, when);

	char *some = needing == known ? must_copy("all") : must_print("%zu of", needing);
	char *text = now ? must_print("%s the %s%zu enclosures need somebody, %zu of them now, %s "
				      "first", some, other, known, now, name)
			 : must_print("%s the %s%zu enclosures need somebody, %s first, %s", some,
				      other, known, name, when);

	free(some);
	return text;
}

static void print_answer(const struct away_view *view)
{
	size_t tolerable = count_of(view, AWAY_TOLERABLE), unknown = count_of(view, AWAY_UNKNOWN);
	char *untold = unknown_text(view, unknown);
	char *needing = needing_text(view, count_of(view, AWAY_NEEDS), view->count - unknown);
	char *leaving = !tolerable         ? must_copy("")
			: view->count == 1 ? must_copy("; it leaves its band, but tolerably")
			: tolerable == 1   ? must_copy("; 1 leaves its band, but tolerably")
					   : must_print("; %zu leave their band, but tolerably",
							tolerable);

	if (unknown == view->count)
		terminal_say(view->request->terminal, 0, "Nothing can be told.");
	else
		terminal_print(view->request->terminal, 0, "%sOf humidity alone, %s%s.", untold,
			       needing, leaving);
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
	short_of(view, hours.high, high);
	return strcmp(low, high) == 0 ? must_copy(median)
				      : must_print("%s (%s to %s)", median, low, high);
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
	if (!at->rule.has_limits ||
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
	bool later = instant_of(view, at->away.by) > view->base.window.to;
	char *needs = at->away.verdict == AWAY_NEEDS
			      ? must_print("%s %s%s", away_word(AWAY_NEEDS), later ? "by " : "",
					   later ? short_of(view, at->away.by, when) : "now")
			      : NULL;

	table_cell(table, title);
	table_cell(table, at->has_place ? place_phrase(at->place) : "–");
	table_inked(table, needs ? INK_STRONG : INK_PLAIN,
		    needs                              ? needs
		    : at->away.verdict == AWAY_UNKNOWN ? "cannot be told"
						       : away_word(at->away.verdict));
	if (at->gap == GAP_NONE)
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

/* Why somebody must be there by then: patience is used up, or the limit passed. */
static char *cause_text(const struct away_view *view, const struct outlook *at)
{
	const struct forecast *forecast = &at->forecast;
	char text[MEASURE_TEXT], patience[MEASURE_TEXT];
	double below = forecast->below_for * 3600;

	if (forecast->passes.low <= at->away.by) {
		show_value(at->rule.limits.low, HUMIDITY, view->request->conf->units, text);
		return forecast->passes.high <= 0
			       ? must_print("is below its limit of %s already", text)
			       : must_print("may pass its limit of %s then", text);
	}
	show_duration(at->rule.patience, patience);
	whole_minutes(below, text);
	if (below >= at->rule.patience)
		return must_print("has been below its band for %s, and %s are tolerated", text,
				  patience);
	if (forecast->below_now && below > 0)
		return must_print("is below its band now, for %s, and may by then have been for as "
				  "long as is tolerated, %s", text, patience);
	return must_print("%s below its band%s%s, and may by then have been for as long as is "
			  "tolerated, %s", forecast->below_now ? "is" : "may be",
			  forecast->below_now ? " now" : " from ",
			  forecast->below_now ? "" : short_of(view, forecast->leaves.low, text),
			  patience);
}

static void print_need(const struct away_view *view, const struct outlook *at)
{
	char *title = enclosure_title(at->enclosure), *cause = cause_text(view, at);
	char when[MEASURE_TEXT], exact[MEASURE_TEXT];
	bool later = instant_of(view, at->away.by) > view->base.window.to;

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

		char *names = away_names(untold, count);

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
	print_standing(view);
	print_answer(view);
	fputc('\n', terminal->file);
	print_table(view);
	fputc('\n', terminal->file);
	print_needs(view);
	print_untold(view);
	if (count_of(view, AWAY_UNKNOWN) < view->count)
		away_print_basis(view);
	fputc('\n', terminal->file);
	away_print_cuts(view);
}
