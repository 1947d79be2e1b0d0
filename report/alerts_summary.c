/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The figures about alerts, for people and as JSON; see alerts_text.h.
 */
#include "report/alerts_text.h"

#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/gather.h"
#include "report/table.h"

/* "T3 cool side humidity below its band"; malloc'ed. */
static char *matter_text(const struct alert_record *record)
{
	char *phrase = alert_phrase(record);
	char *text = must_print("%s%s%s", record->enclosure, record->enclosure[0] ? " " : "",
				phrase);

	free(phrase);
	return text;
}

static double share(size_t part, size_t whole)
{
	return whole ? (double)part / (double)whole : 0;
}

/* ---- text -------------------------------------------------------------------- */

static void print_counts(const struct alert_figures *f, const struct terminal *terminal)
{
	char *tests = f->events[TESTED] ? must_print(" %zu test%s, not counted.", f->events[TESTED],
						     f->events[TESTED] == 1 ? "" : "s")
					: must_copy("");
	char *untold = f->untold ? must_print(" Of those raised %zu %s told to nobody.", f->untold,
					      f->untold == 1 ? "was" : "were")
				 : must_copy("");

	terminal_print(terminal, 0, "%zu raised, %zu worsened, %zu reminded, %zu cleared, "
		       "%zu acknowledged.%s%s", f->events[RAISED], f->events[WORSENED],
		       f->events[REMINDED], f->events[CLEARED], f->events[ACKNOWLEDGED], tests,
		       untold);
	free(tests);
	free(untold);
}

static void print_lives(const struct alert_figures *f, double now,
			const struct terminal *terminal)
{
	char text[MEASURE_TEXT], other[MEASURE_TEXT];

	if (f->longest) {
		char *what = matter_text(&f->longest->last);

		terminal_print(terminal, 0, "Longest: %s, %s%s.", what,
			       show_duration(alert_stood(f->longest, now), text),
			       f->longest->over ? "" : ", and stands");
		free(what);
	}
	if (f->stale)
		terminal_print(terminal, 0, "Stale, standing for more than 24 h: %zu.", f->stale);
	if (f->waits)
		terminal_print(terminal, 0, "Acknowledged after %s (median of %zu), at the longest "
			       "%s.", show_duration(f->median_wait, text), f->waits,
			       show_duration(f->longest_wait, other));
}

static void print_raises(const struct alert_figures *f, const struct terminal *terminal)
{
	char text[MEASURE_TEXT];
	char *shares = must_copy("");

	if (f->burst > 1)
		terminal_print(terminal, 0, "Most raised within 10 min: %zu from %s on, told in %zu "
			       "message%s%s.", f->burst, show_instant_local(f->burst_from, text),
			       f->burst_messages, f->burst_messages == 1 ? "" : "s",
			       f->burst > FLOOD_RAISES ? "; that is a flood" : "");
	for (int p = PRIORITIES - 1; p >= 0; p--) {
		char *more = must_print("%s%s %s %zu (%.0f %%)", shares, *shares ? "," : "",
					priority_word((enum priority)p), f->priorities[p],
					100 * share(f->priorities[p], f->events[RAISED]));

		free(shares);
		shares = more;
	}
	terminal_print(terminal, 0, "By priority:%s.", shares);
	free(shares);
}

static void print_frequent(const struct request *request, const struct alert_figures *f)
{
	static const struct column_head heads[] = {
		{ "raised", TO_RIGHT }, { "share", TO_RIGHT }, { "enclosure", TO_LEFT },
		{ "what", TO_LEFT },
	};
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < f->frequent_count; i++) {
		const struct frequent *frequent = &f->frequent[i];
		const struct enclosure *known = find_enclosure(request->conf,
								frequent->what->enclosure);
		char *cells[] = {
			must_print("%zu", frequent->count),
			must_print("%.0f %%", 100 * share(frequent->count, f->events[RAISED])),
			known ? enclosure_title(known) : must_copy(frequent->what->enclosure),
			alert_phrase(frequent->what),
		};

		for (size_t c = 0; c < sizeof cells / sizeof *cells; c++) {
			table_cell(&table, *cells[c] ? cells[c] : "–");
			free(cells[c]);
		}
	}
	fputs("\nMost frequent:\n", request->terminal->file);
	table_print(&table, request->terminal);
	table_clear(&table);
}

void figures_print(const struct request *request, const struct alert_figures *figures)
{
	const struct terminal *terminal = request->terminal;

	if (!figures->longest && !figures->events[RAISED] && !figures->events[TESTED])
		return;
	fputc('\n', terminal->file);
	print_counts(figures, terminal);
	print_lives(figures, request->now, terminal);
	if (!figures->events[RAISED])
		return;
	print_raises(figures, terminal);
	print_frequent(request, figures);
}

/* ---- JSON --------------------------------------------------------------------- */

static json_t *json_matter(const struct alert_record *r)
{
	return json_pack("{s:o,s:o,s:o,s:o}",
			 "enclosure", json_text(r->enclosure[0] ? r->enclosure : NULL),
			 "place", json_text(r->has_place ? place_word(r->place) : NULL),
			 "quantity", json_text(r->has_quantity ? quantity_word(r->quantity) : NULL),
			 "condition",
			 json_text(r->has_condition ? condition_word(r->condition) : NULL));
}

static json_t *json_longest(const struct alert_figures *f, double now)
{
	if (!f->longest)
		return json_null();
	json_t *object = json_matter(&f->longest->last);

	json_object_set_new(object, "id", json_string(f->longest->last.id));
	json_object_set_new(object, "seconds", json_number(true, alert_stood(f->longest, now)));
	json_object_set_new(object, "stands", json_boolean(!f->longest->over));
	return object;
}

static json_t *json_frequent(const struct alert_figures *f)
{
	json_t *list = json_array();

	for (size_t i = 0; i < f->frequent_count; i++) {
		json_t *object = json_matter(f->frequent[i].what);

		json_object_set_new(object, "raised", json_integer((json_int_t)f->frequent[i].count));
		json_object_set_new(object, "share",
				    json_number(true, share(f->frequent[i].count,
							    f->events[RAISED])));
		json_array_append_new(list, object);
	}
	return list;
}

/* The ids of what is stale. */
static json_t *json_stale(const struct alert_lives *lives, double now)
{
	json_t *list = json_array();

	for (size_t i = 0; i < lives->count; i++)
		if (alert_is_stale(&lives->list[i], now))
			json_array_append_new(list, json_string(lives->list[i].last.id));
	return list;
}

static void set_count(json_t *object, const char *key, size_t count)
{
	json_object_set_new(object, key, json_integer((json_int_t)count));
}

json_t *figures_json(const struct alerts *alerts, const struct alert_figures *f, double now)
{
	static const enum event counted[] = { RAISED, WORSENED, REMINDED, CLEARED, ACKNOWLEDGED };
	json_t *object = json_object(), *priorities = json_object();

	for (size_t i = 0; i < sizeof counted / sizeof *counted; i++)
		set_count(object, event_word(counted[i]), f->events[counted[i]]);
	set_count(object, "tests", f->events[TESTED]);
	set_count(object, "untold", f->untold);
	for (int p = PRIORITIES - 1; p >= 0; p--)
		set_count(priorities, priority_word((enum priority)p), f->priorities[p]);
	json_object_set_new(object, "priorities", priorities);
	json_object_set_new(object, "longest", json_longest(f, now));
	json_object_set_new(object, "stale", json_stale(&alerts->lives, now));
	json_object_set_new(object, "acknowledged_after_seconds",
			    json_pack("{s:o,s:o}",
				      "median", json_number(f->waits > 0, f->median_wait),
				      "longest", json_number(f->waits > 0, f->longest_wait)));
	json_object_set_new(object, "most_in_ten_minutes",
			    json_pack("{s:I,s:o,s:I,s:b}", "raised", (json_int_t)f->burst,
				      "from", f->burst ? json_instant(f->burst_from) : json_null(),
				      "messages", (json_int_t)f->burst_messages,
				      "flood", f->burst > FLOOD_RAISES));
	json_object_set_new(object, "frequent", json_frequent(f));
	return object;
}
