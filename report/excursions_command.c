/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside excursions: each unbroken time outside a band.
 */
#include "report/request.h"

#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/season.h"
#include "conf/words.h"
#include "report/csv.h"
#include "report/excursions.h"
#include "report/gather.h"
#include "report/json.h"
#include "report/table.h"

static const double SHORT = 300; /* s: shorter ones are folded into one line in text */

/* The excursions of one series, and whose they are. */
struct found {
	const struct enclosure *enclosure;
	struct series series;
	struct excursions excursions;
};

struct findings {
	const struct request *request;
	struct band_list bands;
	struct found *list;
	size_t count;
};

static void find(void *context, const struct enclosure *enclosure, const struct record *record)
{
	struct findings *findings = context;

	findings->list = must_resize(findings->list, findings->count + record->count,
				     sizeof *findings->list);
	for (size_t i = 0; i < record->count; i++) {
		const struct series_rows *rows = &record->series[i];
		const struct rule *rule =
			&enclosure->places[rows->series.place].rules[rows->series.quantity];
		struct found *found = &findings->list[findings->count++];

		*found = (struct found){ .enclosure = enclosure, .series = rows->series };
		if (!rule_ever_has_band(rule))
			continue;
		struct ribbon ribbon;

		ribbon_make(&findings->bands, findings->request->conf, enclosure, rows->series,
			    findings->request->window.to, &ribbon);
		excursions_find(rows, record->newest, &ribbon, &found->excursions);
		ribbon_clear(&ribbon);
	}
}

static void findings_clear(struct findings *findings)
{
	for (size_t i = 0; i < findings->count; i++)
		excursions_clear(&findings->list[i].excursions);
	free(findings->list);
	bands_clear(&findings->bands);
}

/* ---- JSON and CSV --------------------------------------------------------- */

static json_t *json_of(const struct found *found, const struct excursion *e)
{
	json_t *object = json_pack(
		"{s:s,s:s,s:s,s:s,s:o,s:o,s:o,s:o,s:b}",
		"enclosure", found->enclosure->name,
		"place", place_word(found->series.place),
		"quantity", quantity_word(found->series.quantity),
		"side", side_word(e->side),
		"from", json_instant(e->from),
		"to", e->lasts ? json_null() : json_instant(e->to),
		"worst", json_number(true, e->worst),
		"degree_hours", json_number(true, e->degree_hours),
		"beyond_limits", e->beyond_limits);

	json_computed(object, found->series);
	return object;
}

static void print_json(const struct request *request, const struct findings *findings)
{
	json_t *list = json_array();

	for (size_t i = 0; i < findings->count; i++)
		for (size_t n = 0; n < findings->list[i].excursions.count; n++)
			json_array_append_new(list,
					      json_of(&findings->list[i],
						      &findings->list[i].excursions.list[n]));
	json_print(json_pack("{s:o,s:o,s:o}", "from", json_instant(request->window.from),
			     "to", json_instant(request->window.to), "excursions", list), stdout);
}

static void print_csv_line(const struct found *found, const struct excursion *e)
{
	bool first = true;

	csv_text(stdout, &first, found->enclosure->name);
	csv_text(stdout, &first, place_word(found->series.place));
	csv_text(stdout, &first, quantity_word(found->series.quantity));
	csv_text(stdout, &first, side_word(e->side));
	csv_number(stdout, &first, true, e->from);
	csv_number(stdout, &first, !e->lasts, e->to);
	csv_number(stdout, &first, true, e->worst);
	csv_number(stdout, &first, true, e->degree_hours);
	csv_text(stdout, &first, e->beyond_limits ? "true" : "false");
	putchar('\n');
}

static void print_csv(const struct findings *findings)
{
	puts("enclosure,place,quantity,side,from,to,worst,degree_hours,beyond_limits");
	for (size_t i = 0; i < findings->count; i++)
		for (size_t n = 0; n < findings->list[i].excursions.count; n++)
			print_csv_line(&findings->list[i],
				       &findings->list[i].excursions.list[n]);
}

/* ---- text ----------------------------------------------------------------- */

static void add_line(struct table *table, const struct found *found, const struct excursion *e,
		     enum units units)
{
	char text[MEASURE_TEXT], value[MEASURE_TEXT] = "–";
	char *out = degree_hours_text(e->degree_hours, found->series.quantity, units);

	if (e->worst == e->worst)
		show_value(e->worst, found->series.quantity, units, value);

	char *worst = must_print("%s %s", e->side == BELOW ? "lowest" : "highest", value);

	table_cell(table, "");
	table_cell(table, show_instant_local(e->from, text));
	table_cell(table, e->lasts ? "lasts" : show_instant_local(e->to, text));
	table_cell(table, show_duration(e->to - e->from, text));
	table_inked(table, e->side == BELOW ? INK_BELOW : INK_ABOVE, side_word(e->side));
	table_cell(table, worst);
	table_cell(table, out);
	table_cell(table, e->beyond_limits ? "beyond its limits" : "");
	free(worst);
	free(out);
}

/* What is too short to be told one by one. */
struct rest {
	size_t count;
	double seconds;
};

static bool folds(const struct excursion *e)
{
	return e->to - e->from < SHORT && !e->lasts && !e->beyond_limits;
}

static void print_rest(const struct rest *rest, bool alone, const struct terminal *terminal)
{
	char text[MEASURE_TEXT];

	if (rest->count)
		terminal_print(terminal, 2, "%s%zu shorter than 5 min, %s in all",
			       alone ? "" : "and ", rest->count,
			       show_duration(rest->seconds, text));
}

static void print_found(const struct found *found, enum units units,
			const struct terminal *terminal)
{
	static const struct column_head heads[] = {
		{ "", TO_LEFT },     { "from", TO_LEFT },  { "to", TO_LEFT },
		{ "for", TO_RIGHT }, { "side", TO_LEFT },  { "", TO_LEFT },
		{ "out by", TO_RIGHT }, { "", TO_LEFT },
	};
	struct rest rest = { 0 };
	struct table table;
	char *title = enclosure_title(found->enclosure);
	char *phrase = series_phrase(found->series);

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < found->excursions.count; i++) {
		const struct excursion *e = &found->excursions.list[i];

		if (folds(e)) {
			rest.count++;
			rest.seconds += e->to - e->from;
		} else {
			add_line(&table, found, e, units);
		}
	}
	terminal_print(terminal, 0, "%s, %s", title, phrase);
	if (table.count)
		table_print(&table, terminal);
	print_rest(&rest, table.count == 0, terminal);
	table_clear(&table);
	free(title);
	free(phrase);
}

static void print_text(const struct request *request, const struct gathered *gathered,
		       const struct findings *findings)
{
	const struct terminal *terminal = request->terminal;
	bool any = false;

	say_window(request);
	for (size_t i = 0; i < findings->count; i++)
		if (findings->list[i].excursions.count) {
			if (any)
				fputc('\n', terminal->file);
			print_found(&findings->list[i], request->conf->units, terminal);
			any = true;
		}
	if (!any)
		terminal_say(terminal, 0, "No excursion in the known time.");
	say_rows(request, gathered);
}

int excursions_command(const struct request *request)
{
	struct gathered gathered;
	struct findings findings = { .request = request };

	bands_load(request->conf->state, &findings.bands);
	gather(request, find, &findings, &gathered);
	if (request->format == FORMAT_JSON)
		print_json(request, &findings);
	else if (request->format == FORMAT_CSV)
		print_csv(&findings);
	else
		print_text(request, &gathered, &findings);

	findings_clear(&findings);
	return gathered_result(&gathered);
}
