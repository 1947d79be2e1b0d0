/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside alerts: the alert log, read for people.
 */
#include "report/request.h"

#include <stdlib.h>

#include "conf/words.h"
#include "report/alerts_text.h"
#include "report/csv.h"
#include "report/json.h"

static json_t *json_of(const struct alerts *alerts, const struct alert_figures *figures,
		       double now)
{
	json_t *standing = json_array(), *history = json_array();

	for (size_t i = 0; i < alerts->standing.count; i++)
		json_array_append_new(standing, alert_to_json(&alerts->standing.list[i].last));
	for (size_t i = 0; i < alerts->history.count; i++)
		json_array_append_new(history, alert_to_json(&alerts->history.list[i]));
	return json_pack("{s:o,s:o,s:o}", "standing", standing, "history", history, "figures",
			 figures_json(alerts, figures, now));
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
	csv_number(stdout, &first, r->has_until, r->until);
	csv_text(stdout, &first, r->webhook);
	csv_text(stdout, &first, r->by);
	csv_text(stdout, &first, r->note);
	putchar('\n');
}

static void print_csv(const struct alerts *alerts)
{
	puts("list,time,id,message,event,enclosure,place,quantity,condition,priority,value,since,"
	     "worst,until,webhook,by,note");
	for (size_t i = 0; i < alerts->standing.count; i++)
		print_csv_line("standing", &alerts->standing.list[i].last);
	for (size_t i = 0; i < alerts->history.count; i++)
		print_csv_line("history", &alerts->history.list[i]);
}

int alerts_command(const struct request *request)
{
	struct alerts alerts;
	struct alert_figures figures;
	struct window window = request->window;

	/* Rows wait for the full minute; what was told a moment ago does not. */
	if (request->until_now)
		window.to = request->now + 1;
	if (!alerts_load(request->conf->state, window, &alerts))
		return FAILED;
	figures_of(&alerts, request->now, &figures);
	if (request->format == FORMAT_JSON)
		json_print(json_of(&alerts, &figures, request->now), stdout);
	else if (request->format == FORMAT_CSV)
		print_csv(&alerts);
	else
		alerts_print(request, &alerts, &figures);
	alerts_clear(&alerts);
	return DONE;
}
