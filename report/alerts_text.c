/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alert log as text; see alerts_text.h.
 */
#include "report/alerts_text.h"

#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/gather.h"
#include "report/table.h"

/* Puts a malloc'ed text into the next cell; an empty one is a dash. */
static void cell(struct table *table, char *text)
{
	table_cell(table, *text ? text : "–");
	free(text);
}

static char *enclosure_text(const struct conf *conf, const char *name)
{
	const struct enclosure *known = find_enclosure(conf, name);

	return known ? enclosure_title(known) : must_copy(name);
}

static char *value_text(const struct alert_record *r, bool present, double value,
			enum units units)
{
	char text[MEASURE_TEXT];

	if (!present || !r->has_quantity)
		return must_copy("");
	if (r->has_condition && r->condition == NO_GRADIENT)
		return must_copy(show_difference(value, r->quantity, units, text));
	return must_copy(show_value(value, r->quantity, units, text));
}

char *time_text(double time, double beside)
{
	enum { DATE = 10 }; /* "2026-01-05" */
	char text[MEASURE_TEXT], other[MEASURE_TEXT];

	show_instant_local(time, text);
	show_instant_local(beside, other);
	return must_copy(strncmp(text, other, DATE) == 0 ? text + DATE + 1 : text);
}

/* Two texts with something between them, when both say something; frees both. */
static char *joined(char *one, const char *between, char *other)
{
	char *both = must_print("%s%s%s", one, *one && *other ? between : "", other);

	free(one);
	free(other);
	return both;
}

/* ---- what stands -------------------------------------------------------------- */

static char *acknowledged_text(const struct alert_life *life, double now)
{
	if (!life->acknowledged)
		return must_copy("");
	return joined(time_text(life->ack.time, now), " ", alert_author(&life->ack));
}

static void print_standing(const struct request *request, const struct alert_lives *standing)
{
	static const struct column_head heads[] = {
		{ "standing", TO_LEFT },  { "enclosure", TO_LEFT },    { "what", TO_LEFT },
		{ "reading", TO_RIGHT },  { "farthest", TO_RIGHT },    { "since", TO_LEFT },
		{ "for", TO_RIGHT },	  { "acknowledged", TO_LEFT },
	};
	enum units units = request->conf->units;
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < standing->count; i++) {
		const struct alert_life *life = &standing->list[i];
		const struct alert_record *r = &life->last;
		double since = r->has_since ? r->since : life->raised;
		char text[MEASURE_TEXT];

		table_cell(&table, r->has_priority ? priority_word(r->priority) : "–");
		cell(&table, enclosure_text(request->conf, r->enclosure));
		cell(&table, alert_phrase(r));
		cell(&table, value_text(r, r->has_value, r->value, units));
		cell(&table, value_text(r, r->has_worst, r->worst, units));
		table_cell(&table, show_instant_local(since, text));
		cell(&table, must_print("%s%s",
					alert_is_stale(life, request->now) ? "stale, " : "",
					show_duration(request->now - since, text)));
		cell(&table, acknowledged_text(life, request->now));
	}
	if (standing->count)
		table_print(&table, request->terminal);
	else
		terminal_say(request->terminal, 0, "Nothing stands.");
	table_clear(&table);
}

/* Whose alerts are held, and why none come from there. */
static void print_held(const struct request *request, const struct alert_list *shelved)
{
	const struct terminal *terminal = request->terminal;
	const struct conf *conf = request->conf;

	for (size_t i = 0; i < shelved->count; i++) {
		const struct alert_record *r = &shelved->list[i];
		char *name = enclosure_text(conf, r->enclosure), *author = alert_author(r);
		char *until = time_text(r->until, request->now);

		/* The daemon may not run, and so may not have ended it. */
		if (r->has_until && r->until > request->now)
			terminal_print(terminal, 0, "%s is shelved until %s%s%s%s.", name, until,
				       *author ? " (" : "", author, *author ? ")" : "");
		free(name);
		free(author);
		free(until);
	}
	for (size_t i = 0; i < conf->enclosure_count; i++) {
		char *name = enclosure_title(&conf->enclosures[i]);

		if (conf->enclosures[i].out_of_service)
			terminal_print(terminal, 0, "%s is out of service: recorded, never alerted.",
				       name);
		free(name);
	}
}

/* ---- what happened ------------------------------------------------------------- */

/* "phone 08:00, mail 08:02": which webhook took the message, and when. */
static char *told_text(const struct alerts *alerts, const struct alert_record *r)
{
	size_t count;
	const struct delivery *deliveries = alerts_deliveries(alerts, r->message, &count);
	char *text = must_copy("");

	if (!event_is_told(r->event))
		return text;
	for (size_t i = 0; i < count; i++) {
		char *time = time_text(deliveries[i].time, r->time);
		const char *webhook = deliveries[i].webhook;

		text = joined(text, ", ",
			      must_print("%s %s", *webhook ? webhook : "a webhook", time));
		free(time);
	}
	if (count > 0)
		return text;
	free(text);
	if (r->joins[0] && !r->message[0])
		return must_copy(strcmp(r->joins, "room") == 0 ? "with the room" : "with another");
	return must_copy(r->message[0] ? "not yet" : "nobody");
}

/* What the record is about, and who did it and why. */
static char *what_text(const struct alert_record *r)
{
	char *what = alert_phrase(r);

	if (r->event == SHELVED && r->has_until) {
		char *until = time_text(r->until, r->time);

		free(what);
		what = must_print("until %s", until);
		free(until);
	}
	return joined(what, "; ", alert_author(r));
}

/* Deliveries stand beside what they told, where that is in the window. */
static bool is_shown_elsewhere(const struct alerts *alerts, const struct alert_record *r)
{
	size_t count;
	const struct delivery *delivery = alerts_deliveries(alerts, r->message, &count);

	return r->event == DELIVERED && delivery && delivery->known;
}

static void print_history(const struct request *request, const struct alerts *alerts)
{
	static const struct column_head heads[] = {
		{ "time", TO_LEFT },	 { "event", TO_LEFT },	  { "enclosure", TO_LEFT },
		{ "what", TO_LEFT },	 { "reading", TO_RIGHT }, { "priority", TO_LEFT },
		{ "told", TO_LEFT },
	};
	const struct alert_list *list = &alerts->history;
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < list->count; i++) {
		const struct alert_record *r = &list->list[i];
		char text[MEASURE_TEXT];

		if (is_shown_elsewhere(alerts, r))
			continue;
		table_cell(&table, show_instant_local(r->time, text));
		table_cell(&table, event_word(r->event));
		cell(&table, enclosure_text(request->conf, r->enclosure));
		cell(&table, what_text(r));
		cell(&table, value_text(r, r->has_value, r->value, request->conf->units));
		table_cell(&table, r->has_priority ? priority_word(r->priority) : "–");
		cell(&table, told_text(alerts, r));
	}
	if (list->count)
		table_print(&table, request->terminal);
	else
		terminal_say(request->terminal, 0, "No alert in this time.");
	table_clear(&table);
}

void alerts_print(const struct request *request, const struct alerts *alerts,
		  const struct alert_figures *figures)
{
	print_standing(request, &alerts->standing);
	print_held(request, &alerts->shelved);
	fputc('\n', request->terminal->file);
	say_window(request);
	print_history(request, alerts);
	figures_print(request, figures);
}
