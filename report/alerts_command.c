/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside alerts: the alert log, read for people.
 */
#include "report/request.h"

#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/alerts.h"
#include "report/csv.h"
#include "report/gather.h"
#include "report/json.h"
#include "report/table.h"

static json_t *json_of(const struct alert_list *list)
{
	json_t *records = json_array();

	for (size_t i = 0; i < list->count; i++)
		json_array_append_new(records, alert_to_json(&list->list[i]));
	return records;
}

/* ---- CSV ------------------------------------------------------------------ */

static void print_csv_line(const char *which, const struct alert_record *r)
{
	bool first = true;

	csv_text(stdout, &first, which);
	csv_number(stdout, &first, true, r->time);
	csv_text(stdout, &first, r->id);
	csv_text(stdout, &first, r->message);
	csv_text(stdout, &first, event_word(r->event));
	csv_text(stdout, &first, r->enclosure);
	csv_text(stdout, &first, r->has_place ? place_word(r->place) : NULL);
	csv_text(stdout, &first, r->has_quantity ? quantity_word(r->quantity) : NULL);
	csv_text(stdout, &first, r->has_condition ? condition_word(r->condition) : NULL);
	csv_text(stdout, &first, r->has_priority ? priority_word(r->priority) : NULL);
	csv_number(stdout, &first, r->has_value, r->value);
	csv_number(stdout, &first, r->has_since, r->since);
	csv_number(stdout, &first, r->has_worst, r->worst);
	putchar('\n');
}

static void print_csv(const struct alerts *alerts)
{
	puts("list,time,id,message,event,enclosure,place,quantity,condition,priority,value,since,"
	     "worst");
	for (size_t i = 0; i < alerts->standing.count; i++)
		print_csv_line("standing", &alerts->standing.list[i]);
	for (size_t i = 0; i < alerts->history.count; i++)
		print_csv_line("history", &alerts->history.list[i]);
}

/* ---- text ----------------------------------------------------------------- */

static void enclosure_cell(struct table *table, const struct conf *conf, const char *name)
{
	const struct enclosure *known = find_enclosure(conf, name);
	char *title = known ? enclosure_title(known) : must_copy(*name ? name : "–");

	table_cell(table, title);
	free(title);
}

static void phrase_cell(struct table *table, const struct alert_record *r)
{
	char *phrase = alert_phrase(r);

	table_cell(table, *phrase ? phrase : "–");
	free(phrase);
}

static void value_cell(struct table *table, const struct alert_record *r, bool present,
		       double value, enum units units)
{
	char text[MEASURE_TEXT];

	if (!present || !r->has_quantity)
		table_cell(table, "–");
	else if (r->has_condition && r->condition == NO_GRADIENT)
		table_cell(table, show_difference(value, r->quantity, units, text));
	else
		table_cell(table, show_value(value, r->quantity, units, text));
}

static void print_standing(const struct request *request, const struct alert_list *list)
{
	static const struct column_head heads[] = {
		{ "standing", TO_LEFT }, { "enclosure", TO_LEFT }, { "what", TO_LEFT },
		{ "reading", TO_RIGHT }, { "farthest", TO_RIGHT }, { "since", TO_LEFT },
		{ "for", TO_RIGHT },
	};
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < list->count; i++) {
		const struct alert_record *r = &list->list[i];
		double since = r->has_since ? r->since : r->time;
		char text[MEASURE_TEXT];

		table_cell(&table, r->has_priority ? priority_word(r->priority) : "–");
		enclosure_cell(&table, request->conf, r->enclosure);
		phrase_cell(&table, r);
		value_cell(&table, r, r->has_value, r->value, request->conf->units);
		value_cell(&table, r, r->has_worst, r->worst, request->conf->units);
		table_cell(&table, show_instant_local(since, text));
		table_cell(&table, show_duration(request->now - since, text));
	}
	if (list->count)
		table_print(&table, stdout);
	else
		puts("Nothing stands.");
	table_clear(&table);
}

static void print_history(const struct request *request, const struct alert_list *list)
{
	static const struct column_head heads[] = {
		{ "time", TO_LEFT }, { "event", TO_LEFT },    { "enclosure", TO_LEFT },
		{ "what", TO_LEFT }, { "reading", TO_RIGHT }, { "priority", TO_LEFT },
	};
	struct table table;

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < list->count; i++) {
		const struct alert_record *r = &list->list[i];
		char text[MEASURE_TEXT];

		table_cell(&table, show_instant_local(r->time, text));
		table_cell(&table, event_word(r->event));
		enclosure_cell(&table, request->conf, r->enclosure);
		phrase_cell(&table, r);
		value_cell(&table, r, r->has_value, r->value, request->conf->units);
		table_cell(&table, r->has_priority ? priority_word(r->priority) : "–");
	}
	if (list->count)
		table_print(&table, stdout);
	else
		puts("No alert in this time.");
	table_clear(&table);
}

int alerts_command(const struct request *request)
{
	struct alerts alerts;

	if (!alerts_load(request->conf->state, request->window, &alerts))
		return FAILED;
	if (request->format == FORMAT_JSON) {
		json_print(json_pack("{s:o,s:o}", "standing", json_of(&alerts.standing), "history",
				     json_of(&alerts.history)), stdout);
	} else if (request->format == FORMAT_CSV) {
		print_csv(&alerts);
	} else {
		print_standing(request, &alerts.standing);
		putchar('\n');
		say_window(request, stdout);
		print_history(request, &alerts.history);
	}
	alerts_clear(&alerts);
	return DONE;
}
