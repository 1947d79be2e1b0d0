/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside now: the latest reading of every place, worst first.
 */
#include "report/request.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "conf/layout.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/csv.h"
#include "report/gather.h"
#include "report/json.h"
#include "report/latest.h"
#include "report/table.h"

static const double OLD = 60; /* s: the daemon writes every few seconds */

/* False after a sentence on standard error. */
static bool read_latest(const char *path, struct latest *out)
{
	json_error_t error;
	FILE *file = fopen(path, "re");

	if (!file) {
		if (errno == ENOENT)
			fprintf(stderr, "warmside: no daemon has written here: %s does not exist\n",
				path);
		else
			fprintf(stderr, "warmside: %s cannot be read: %s\n", path, strerror(errno));
		return false;
	}
	json_t *root = json_loadf(file, 0, &error);
	bool good = root && latest_from_json(root, out);

	if (!root)
		fprintf(stderr, "warmside: %s is damaged in line %d: %s\n", path, error.line,
			error.text);
	else if (!good)
		fprintf(stderr, "warmside: %s is not what the daemon writes; its next one "
			"replaces it\n", path);
	json_decref(root);
	fclose(file);
	return good;
}

/* ---- text ----------------------------------------------------------------- */

/* A line of the table. */
struct line {
	const struct latest_enclosure *enclosure;
	const struct latest_place *place;
	size_t order;           /* in the file */
};

static int worst_first(const void *a, const void *b)
{
	const struct line *one = a, *other = b;
	int difference = latest_compare(one->place, other->place);

	return difference ? difference : (one->order > other->order) - (one->order < other->order);
}

static struct line *lines_of(const struct latest *latest, size_t *count)
{
	struct line *lines = NULL;

	*count = 0;
	for (size_t i = 0; i < latest->count; i++)
		for (size_t n = 0; n < latest->enclosures[i].count; n++) {
			lines = must_resize(lines, *count + 1, sizeof *lines);
			lines[*count] = (struct line){ &latest->enclosures[i],
						       &latest->enclosures[i].places[n], *count };
			++*count;
		}
	if (*count)
		qsort(lines, *count, sizeof *lines, worst_first);
	return lines;
}

static void range_cell(struct table *table, bool present, struct range range,
		       enum quantity quantity, enum units units)
{
	char text[MEASURE_TEXT];

	table_cell(table, present ? show_range(range, quantity, units, text) : "–");
}

static bool is_out(const struct latest_place *place)
{
	return strcmp(place->state, "straying") == 0 || strcmp(place->state, "unsafe") == 0;
}

static void add_line(struct table *table, const struct conf *conf, const struct line *line)
{
	const struct latest_place *place = line->place;
	const struct enclosure *known = find_enclosure(conf, line->enclosure->name);
	char *title = known ? enclosure_title(known) : must_copy(line->enclosure->name);
	char *phrase = series_phrase(place->series);
	char text[MEASURE_TEXT];

	table_cell(table, title);
	table_cell(table, phrase);
	table_cell(table, place->has_value
				  ? show_value(place->value, place->series.quantity, conf->units, text)
				  : "–");
	table_inked(table, is_out(place) ? INK_STRONG : INK_PLAIN,
		    *place->state      ? place->state
		    : place->has_value ? "–"
				       : "not heard");
	range_cell(table, place->has_band, place->band, place->series.quantity, conf->units);
	range_cell(table, place->has_limits, place->limits, place->series.quantity, conf->units);
	table_cell(table, place->has_time ? show_instant_local(place->time, text) : "never");
	free(title);
	free(phrase);
}

/* What the table does not show: why an enclosure is not told of, and why some
 * are not heard. */
static void print_notes(const struct request *request, const struct latest *latest)
{
	const struct terminal *terminal = request->terminal;
	char text[MEASURE_TEXT];

	for (size_t i = 0; i < latest->count; i++) {
		const struct latest_enclosure *at = &latest->enclosures[i];

		if (at->shelved && at->shelved_until > request->now)
			terminal_print(terminal, 0, "%s is shelved until %s.", at->name,
				       show_instant_local(at->shelved_until, text));
		if (strcmp(at->state, "out of service") == 0)
			terminal_print(terminal, 0, "%s is out of service: recorded, never alerted.",
				       at->name);
	}
	for (size_t i = 0; i < latest->lost_count; i++)
		terminal_print(terminal, 0, "The port of bus \"%s\" is closed.", latest->lost[i]);
	for (size_t i = 0; i < latest->trouble_count; i++) {
		const char *why = latest->troubles[i].text;
		bool asks = *why && why[strlen(why) - 1] == '?';

		terminal_print(terminal, 0, "Probe%s %s: %s%s",
			       strchr(latest->troubles[i].probes, ',') ? "s" : "",
			       latest->troubles[i].probes, why, asks ? "" : ".");
	}
}

static void print_text(const struct request *request, const struct latest *latest)
{
	static const struct column_head heads[] = {
		{ "enclosure", TO_LEFT }, { "place", TO_LEFT },   { "reading", TO_RIGHT },
		{ "state", TO_LEFT },     { "wanted", TO_RIGHT }, { "limits", TO_RIGHT },
		{ "read at", TO_LEFT },
	};
	struct table table;
	size_t count;
	struct line *lines = lines_of(latest, &count);

	table_begin(&table, heads, sizeof heads / sizeof *heads);
	for (size_t i = 0; i < count; i++)
		add_line(&table, request->conf, &lines[i]);
	table_print(&table, request->terminal);
	table_clear(&table);
	free(lines);
	print_notes(request, latest);
}

/* ---- CSV ------------------------------------------------------------------ */

static void print_csv_line(const struct latest_enclosure *enclosure,
			   const struct latest_place *place)
{
	bool first = true;

	csv_text(stdout, &first, enclosure->name);
	csv_text(stdout, &first, place_word(place->series.place));
	csv_text(stdout, &first, quantity_word(place->series.quantity));
	csv_number(stdout, &first, place->has_value, place->value);
	csv_number(stdout, &first, place->has_time, place->time);
	csv_text(stdout, &first, place->state);
	csv_number(stdout, &first, place->has_band, place->band.low);
	csv_number(stdout, &first, place->has_band, place->band.high);
	csv_number(stdout, &first, place->has_limits, place->limits.low);
	csv_number(stdout, &first, place->has_limits, place->limits.high);
	putchar('\n');
}

static void print_csv(const struct latest *latest)
{
	puts("enclosure,place,quantity,value,time,state,band_low,band_high,limits_low,limits_high");
	for (size_t i = 0; i < latest->count; i++)
		for (size_t n = 0; n < latest->enclosures[i].count; n++)
			print_csv_line(&latest->enclosures[i], &latest->enclosures[i].places[n]);
}

/* Old readings are still readings, but nobody may take them for new. */
static void say_age(const struct request *request, const struct latest *latest)
{
	const struct terminal errors = terminal_onto(stderr, 0, false, false);
	char at[MEASURE_TEXT], age[MEASURE_TEXT];

	if (request->now - latest->time > OLD)
		terminal_print(request->format == FORMAT_TEXT ? request->terminal : &errors, 0,
			       "These readings are old: the daemon last wrote at %s, %s ago.",
			       show_instant_local(latest->time, at),
			       show_duration(request->now - latest->time, age));
}

int now_command(const struct request *request)
{
	struct latest latest;
	char *path = state_path(request->conf->state, NOW_FILE);
	bool good = read_latest(path, &latest);

	free(path);
	if (!good)
		return FAILED;
	say_age(request, &latest);
	if (request->format == FORMAT_JSON)
		json_print(latest_to_json(&latest), stdout);
	else if (request->format == FORMAT_CSV)
		print_csv(&latest);
	else
		print_text(request, &latest);
	latest_clear(&latest);
	return DONE;
}
