/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside totals: for each place and quantity, how long it was where.
 */
#include "report/request.h"

#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/season.h"
#include "conf/words.h"
#include "report/csv.h"
#include "report/gather.h"
#include "report/json.h"
#include "report/table.h"
#include "report/totals.h"

/* One line of the answer. */
struct line {
	const struct enclosure *enclosure;
	struct series series;
	struct totals totals;
};

struct answer {
	const struct request *request;
	struct line *lines;     /* those of an enclosure in one piece */
	size_t count;
};

static void add_lines(void *context, const struct enclosure *enclosure,
		      const struct record *record)
{
	struct answer *answer = context;

	answer->lines = must_resize(answer->lines, answer->count + record->count,
				    sizeof *answer->lines);
	for (size_t i = 0; i < record->count; i++) {
		const struct series_rows *rows = &record->series[i];
		const struct rule *rule =
			&enclosure->places[rows->series.place].rules[rows->series.quantity];

		answer->lines[answer->count++] = (struct line){
			enclosure, rows->series,
			totals_of(rows, answer->request->window, rule_ever_has_band(rule))
		};
	}
}

/* ---- JSON ----------------------------------------------------------------- */

static void print_json(const struct answer *answer)
{
	const struct request *request = answer->request;
	json_t *enclosures = json_array();
	size_t line = 0;

	for (size_t i = 0; i < request->conf->enclosure_count; i++) {
		const struct enclosure *at = &request->conf->enclosures[i];
		json_t *places = json_array();

		for (; line < answer->count && answer->lines[line].enclosure == at; line++)
			json_array_append_new(places, json_totals(answer->lines[line].series,
								  &answer->lines[line].totals));
		json_array_append_new(
			enclosures,
			json_pack("{s:s,s:o,s:o,s:o}", "name", at->name,
				  "species", json_text(at->species ? at->species->name : NULL),
				  "build", json_text(at->has_build ? build_word(at->build) : NULL),
				  "places", places));
	}
	json_print(json_pack("{s:o,s:o,s:o}", "from", json_instant(request->window.from),
				    "to", json_instant(request->window.to),
				    "enclosures", enclosures), stdout);
}

/* ---- CSV ------------------------------------------------------------------ */

static void print_csv_line(const struct request *request, const struct line *line)
{
	const struct enclosure *at = line->enclosure;
	const struct totals *t = &line->totals;
	bool first = true;

	csv_number(stdout, &first, true, request->window.from);
	csv_number(stdout, &first, true, request->window.to);
	csv_text(stdout, &first, at->name);
	csv_text(stdout, &first, at->species ? at->species->name : NULL);
	csv_text(stdout, &first, at->has_build ? build_word(at->build) : NULL);
	csv_text(stdout, &first, place_word(line->series.place));
	csv_text(stdout, &first, quantity_word(line->series.quantity));
	csv_text(stdout, &first, unit_word(line->series.quantity));
	csv_number(stdout, &first, t->has_band, t->low);
	csv_number(stdout, &first, t->has_band, t->high);
	csv_number(stdout, &first, t->has_band, t->inside);
	csv_number(stdout, &first, true, t->unknown);
	csv_number(stdout, &first, t->has_band, t->degree_hours);
	csv_number(stdout, &first, t->known, t->min);
	csv_number(stdout, &first, t->known, t->mean);
	csv_number(stdout, &first, t->known, t->max);
	putchar('\n');
}

/* ---- text ----------------------------------------------------------------- */

static void seconds_cell(struct table *table, enum ink ink, bool present, double seconds)
{
	char text[MEASURE_TEXT];

	if (present && seconds >= 0.5)
		table_inked(table, ink, show_duration(seconds, text));
	else
		table_cell(table, "–");
}

static void value_cell(struct table *table, const struct line *line, enum units units, double value)
{
	char text[MEASURE_TEXT];

	table_cell(table, line->totals.known
				  ? show_value(value, line->series.quantity, units, text)
				  : "–");
}

static void add_line(struct table *table, const struct line *line, enum units units)
{
	const struct totals *t = &line->totals;
	char *title = enclosure_title(line->enclosure);
	char *phrase = series_phrase(line->series);
	char *out = degree_hours_text(t->degree_hours, line->series.quantity, units);

	table_cell(table, title);
	table_cell(table, phrase);
	seconds_cell(table, INK_BELOW, t->has_band, t->low);
	seconds_cell(table, INK_ABOVE, t->has_band, t->high);
	table_cell(table, t->has_band && t->low + t->high > 0 ? out : "–");
	seconds_cell(table, INK_PLAIN, t->has_band, t->inside);
	seconds_cell(table, INK_PLAIN, true, t->unknown);
	value_cell(table, line, units, t->min);
	value_cell(table, line, units, t->mean);
	value_cell(table, line, units, t->max);
	free(title);
	free(phrase);
	free(out);
}

static void print_text(const struct answer *answer, const struct gathered *gathered)
{
	static const struct column_head heads[] = {
		{ "enclosure", TO_LEFT }, { "place", TO_LEFT },     { "below", TO_RIGHT },
		{ "above", TO_RIGHT },    { "out by", TO_RIGHT },   { "inside", TO_RIGHT },
		{ "unknown", TO_RIGHT },  { "lowest", TO_RIGHT },   { "mean", TO_RIGHT },
		{ "highest", TO_RIGHT },
	};
	struct table table;

	say_window(answer->request);
	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < answer->count; i++)
		add_line(&table, &answer->lines[i], answer->request->conf->units);
	table_print(&table, answer->request->terminal);
	table_clear(&table);
	say_rows(answer->request, gathered);
}

static void print_csv(const struct answer *answer)
{
	puts("from,to,enclosure,species,build,place,quantity,unit,low_seconds,high_seconds,"
	     "inside_seconds,unknown_seconds,degree_hours,min,mean,max");
	for (size_t i = 0; i < answer->count; i++)
		print_csv_line(answer->request, &answer->lines[i]);
}

int totals_command(const struct request *request)
{
	struct answer answer = { .request = request };
	struct gathered gathered;

	gather(request, add_lines, &answer, &gathered);
	if (request->format == FORMAT_JSON)
		print_json(&answer);
	else if (request->format == FORMAT_CSV)
		print_csv(&answer);
	else
		print_text(&answer, &gathered);
	free(answer.lines);
	return gathered_result(&gathered);
}
