/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside totals: for each place and quantity, how long it was where.
 */
#include "report/request.h"

#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
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

static struct line line_of(const struct request *request, size_t enclosure,
			   const struct series_rows *rows)
{
	const struct enclosure *at = &request->conf->enclosures[enclosure];
	const struct rule *rule = &at->places[rows->series.place].rules[rows->series.quantity];

	return (struct line){ at, rows->series,
			      totals_of(rows, request->window, rule->has_band) };
}

/* ---- JSON ----------------------------------------------------------------- */

static void print_json(const struct request *request, const struct gathered *gathered)
{
	json_t *enclosures = json_array();

	for (size_t i = 0; i < gathered->count; i++) {
		const struct enclosure *at = &request->conf->enclosures[i];
		json_t *places = json_array();

		for (size_t n = 0; n < gathered->records[i].count; n++) {
			struct line line = line_of(request, i, &gathered->records[i].series[n]);

			json_array_append_new(places, json_totals(line.series, &line.totals));
		}
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

static void print_text(const struct request *request, const struct gathered *gathered)
{
	static const struct column_head heads[] = {
		{ "enclosure", TO_LEFT }, { "place", TO_LEFT },     { "below", TO_RIGHT },
		{ "above", TO_RIGHT },    { "out by", TO_RIGHT },   { "inside", TO_RIGHT },
		{ "unknown", TO_RIGHT },  { "lowest", TO_RIGHT },   { "mean", TO_RIGHT },
		{ "highest", TO_RIGHT },
	};
	struct table table;

	say_window(request);
	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < gathered->count; i++)
		for (size_t n = 0; n < gathered->records[i].count; n++) {
			struct line line = line_of(request, i, &gathered->records[i].series[n]);

			add_line(&table, &line, request->conf->units);
		}
	table_print(&table, request->terminal);
	table_clear(&table);
	say_rows(request, gathered);
}

static void print_csv(const struct request *request, const struct gathered *gathered)
{
	puts("from,to,enclosure,species,build,place,quantity,unit,low_seconds,high_seconds,"
	     "inside_seconds,unknown_seconds,degree_hours,min,mean,max");
	for (size_t i = 0; i < gathered->count; i++)
		for (size_t n = 0; n < gathered->records[i].count; n++) {
			struct line line = line_of(request, i, &gathered->records[i].series[n]);

			print_csv_line(request, &line);
		}
}

int totals_command(const struct request *request)
{
	struct gathered gathered;

	gather(request, &gathered);
	if (request->format == FORMAT_JSON)
		print_json(request, &gathered);
	else if (request->format == FORMAT_CSV)
		print_csv(request, &gathered);
	else
		print_text(request, &gathered);

	int result = gathered_result(&gathered);

	gathered_clear(&gathered);
	return result;
}
