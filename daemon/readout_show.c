/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A readout as a table; where the screen is too narrow for one, as a line a
 * probe without headings, or as a block a probe; see readout_view.h.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/utf8.h"
#include "conf/words.h"
#include "daemon/gate.h"
#include "daemon/readout_view.h"

enum column { PROBE, VALUES, AGE = VALUES + QUANTITIES, CHANGE, WHERE, COLUMNS };
enum { GAP = 2, INDENT = 4, LEAST_WIDTH = 24, LEAST_WHERE = 12 };

static const char *const heads[COLUMNS] = {
	[PROBE] = "probe", [VALUES + TEMPERATURE] = "temperature", [VALUES + HUMIDITY] = "humidity",
	[AGE] = "age",	   [CHANGE] = "since first seen",	   [WHERE] = "where",
};

struct row {
	size_t probe;
	double rise;            /* °C, now; 0 when it does not, or nobody watches */
	char *cells[COLUMNS];
};

/* ---- texts ---------------------------------------------------------------------- */

char *readout_where(const struct conf *conf, size_t probe)
{
	char *text = must_copy("");

	for (size_t e = 0; e < conf->enclosure_count; e++)
		for (int p = 0; p < PLACES; p++) {
			const struct place_conf *at = &conf->enclosures[e].places[p];

			if (!at->watched || at->probe != probe)
				continue;
			char *more = must_print("%s%s%s%s%s", text, *text ? ", " : "",
						conf->enclosures[e].label, p == ROOM_AIR ? "" : " ",
						p == ROOM_AIR ? "" : place_phrase((enum place)p));

			free(text);
			text = more;
		}
	if (*text)
		return text;
	free(text);
	return must_copy("nowhere");
}

char *readout_value(const struct readout *readout, size_t probe, enum quantity quantity)
{
	const struct reading *reading = &readout->answers[probe].reading;
	const struct correction *correction = &readout->conf->probes[probe].correction[quantity];
	enum units units = readout->conf->units;
	char raw[MEASURE_TEXT], corrected[MEASURE_TEXT];

	if (!readout->answers[probe].read || !reading->has[quantity])
		return must_copy(readout->conf->probes[probe].gives[quantity] ? "no value" : "");
	show_value(reading->value[quantity], quantity, units, raw);
	if (correction->offset == 0 && correction->slope == 1)
		return must_copy(raw);
	show_value(gate_correct(quantity, correction, reading->value[quantity]), quantity, units,
		   corrected);
	return must_print("%s (raw %s)", corrected, raw);
}

char *readout_change(const struct conf *conf, double change)
{
	char text[MEASURE_TEXT];

	show_difference(fabs(change), TEMPERATURE, conf->units, text);
	return must_print("%s%s", change < 0 ? "-" : "+", text);
}

size_t readout_riser(const struct readout *readout)
{
	size_t riser = NO_PROBE;
	double most = 0;

	for (size_t p = 0; p < readout->conf->probe_count; p++) {
		double rise = warming_rise(&readout->answers[p].warming);

		if (rise > most) {
			most = rise;
			riser = p;
		}
	}
	return riser;
}

/* Text broken between words, each line behind an indent. */
static void print_broken(FILE *out, const char *text, size_t indent, size_t width)
{
	size_t at = 0;

	while (*text) {
		int word = (int)strcspn(text, " ");
		char *copy = must_print("%.*s", word, text);
		size_t length = utf8_count(copy);

		if (at > 0 && width > 0 && at + 1 + length > width) {
			fputc('\n', out);
			at = 0;
		}
		at += (size_t)fprintf(out, "%*s", at ? 1 : (int)indent, "");
		fputs(copy, out);
		at += length;
		free(copy);
		text += word;
		text += strspn(text, " ");
	}
	fputc('\n', out);
}

/* ---- rows ------------------------------------------------------------------------ */

static struct row row_of(const struct readout *readout, size_t probe, double now)
{
	const struct answer *answer = &readout->answers[probe];
	bool risen = readout->watching && readout_riser(readout) == probe;
	bool waited = !answer->read && !answer->trouble;
	char age[MEASURE_TEXT] = "-";
	struct row row = { .probe = probe };

	if (readout->watching)
		row.rise = warming_rise(&answer->warming);
	if (answer->read)
		show_duration(fmax(floor(now - answer->reading.time), 0), age);
	row.cells[PROBE] = must_print("%s%s", risen ? "> " : readout->watching ? "  " : "",
				      readout->conf->probes[probe].name);
	for (int q = 0; q < QUANTITIES; q++)
		row.cells[VALUES + q] = waited ? must_copy(q == 0 ? "not heard yet" : "")
					       : readout_value(readout, probe, (enum quantity)q);
	row.cells[AGE] = must_copy(waited ? "" : age);
	row.cells[CHANGE] = readout->watching && answer->warming.begun
				    ? readout_change(readout->conf, warming_change(&answer->warming))
				    : must_copy("");
	row.cells[WHERE] = readout_where(readout->conf, probe);
	return row;
}

/* A table, or its rows where that is too wide: without headings and ages, and
 * what is behind `where` cut off. */
struct columns {
	bool shown[COLUMNS];
	size_t widths[COLUMNS];
	size_t most_where;      /* characters */
	bool headed;
};

static void print_row(const struct columns *columns, FILE *out, const char *const *cells)
{
	size_t owed = 0;

	for (int c = 0; c < COLUMNS; c++) {
		size_t length = utf8_count(cells[c]);

		if (!columns->shown[c])
			continue;
		if (c == WHERE && length > columns->most_where)
			fprintf(out, "%*s%.*s...", (int)owed, "",
				(int)utf8_bytes(cells[c], columns->most_where - 3), cells[c]);
		else if (length > 0)
			fprintf(out, "%*s%s", (int)owed, "", cells[c]);
		owed = (length > 0 ? 0 : owed) + columns->widths[c] - length + GAP;
	}
	fputc('\n', out);
}

/* One probe under the other, for whom the table is too wide. */
static void print_block(const struct readout *readout, FILE *out, const struct row *row,
			size_t width)
{
	char *head = must_print("%s: %s", row->cells[PROBE], row->cells[WHERE]);
	char *values = must_copy("");

	for (int c = VALUES; c < WHERE; c++) {
		if (!*row->cells[c] || (c == CHANGE && !readout->watching))
			continue;
		char *more = must_print("%s%s%s%s", values, *values ? ", " : "", row->cells[c],
					c == AGE      ? " old"
					: c == CHANGE ? " since first seen"
						      : "");

		free(values);
		values = more;
	}
	/* The mark in front must not be taken for a blank between words. */
	fprintf(out, "%.*s", (int)strspn(head, " "), head);
	print_broken(out, head + strspn(head, " "), 0, width);
	print_broken(out, values, INDENT, width);
	free(values);
	free(head);
}

/* How wide each is, and what is left of the screen for `where`, which is last. */
static void measure(struct columns *columns, const struct row *rows, size_t count, size_t width)
{
	size_t before = 0, where;

	for (int c = 0; c < COLUMNS; c++) {
		columns->widths[c] = columns->headed ? utf8_count(heads[c]) : 0;
		for (size_t i = 0; i < count; i++)
			if (utf8_count(rows[i].cells[c]) > columns->widths[c])
				columns->widths[c] = utf8_count(rows[i].cells[c]);
		/* Without headings an empty column is none. */
		columns->shown[c] = columns->shown[c] && columns->widths[c] > 0;
		before += columns->shown[c] && c != WHERE ? columns->widths[c] + GAP : 0;
	}
	where = columns->widths[WHERE];
	columns->most_where = width == 0 || before + where <= width ? where
			      : before < width			    ? width - before
								    : 0;
}

/* The widest way that the screen has room for; false when each must be a block. */
static bool fit(const struct readout *readout, struct columns *columns, const struct row *rows,
		size_t width)
{
	size_t count = readout->conf->probe_count;

	*columns = (struct columns){ .headed = true };
	for (int c = 0; c < COLUMNS; c++)
		columns->shown[c] = c != CHANGE || readout->watching;
	measure(columns, rows, count, width);
	if (columns->most_where == columns->widths[WHERE])
		return true;
	if (!readout->watching)
		return false;
	columns->headed = columns->shown[AGE] = false;
	measure(columns, rows, count, width);
	return columns->most_where >= LEAST_WHERE ||
	       columns->most_where == columns->widths[WHERE];
}

static void print_rows(const struct readout *readout, FILE *out, const struct row *rows,
		       size_t width)
{
	struct columns columns;
	bool lines = fit(readout, &columns, rows, width);

	if (lines && columns.headed)
		print_row(&columns, out, heads);
	for (size_t i = 0; i < readout->conf->probe_count; i++) {
		const char *trouble = readout->answers[rows[i].probe].trouble;

		if (lines)
			print_row(&columns, out, (const char *const *)rows[i].cells);
		else
			print_block(readout, out, &rows[i], width);
		if (trouble)
			print_broken(out, trouble, INDENT, width);
	}
}

/* Those that rise come first, so that they are on the screen; the others stay in
 * the order of the configuration. */
static int by_rise(const void *left, const void *right)
{
	const struct row *a = left, *b = right;

	if (a->rise != b->rise)
		return a->rise < b->rise ? 1 : -1;
	return a->probe < b->probe ? -1 : a->probe > b->probe;
}

/* Above the table, so that no screen is too small for it. */
static void print_riser(const struct readout *readout, FILE *out, size_t width)
{
	size_t riser = readout_riser(readout);
	char *line;

	if (riser == NO_PROBE) {
		line = must_copy("Warm a probe in your hand: the one that rises is marked with >. "
				 "Ctrl-C ends.");
	} else {
		char *rise = readout_change(readout->conf,
					    warming_rise(&readout->answers[riser].warming));
		char *where = readout_where(readout->conf, riser);

		line = must_print("> %s rises, %s lately: %s. Ctrl-C ends.",
				  readout->conf->probes[riser].name, rise, where);
		free(where);
		free(rise);
	}
	print_broken(out, line, 0, width);
	free(line);
}

void readout_show(const struct readout *readout, FILE *out, size_t width, double now)
{
	size_t count = readout->conf->probe_count;
	struct row *rows = must_calloc(count, sizeof *rows);

	if (width > 0 && width < LEAST_WIDTH)
		width = LEAST_WIDTH;
	for (size_t p = 0; p < count; p++)
		rows[p] = row_of(readout, p, now);
	qsort(rows, count, sizeof *rows, by_rise);
	if (readout->source)
		print_broken(out, readout->source, 0, width);
	if (readout->watching)
		print_riser(readout, out, width);
	if (count == 0)
		print_broken(out, "The configuration names no probe.", 0, width);
	else
		print_rows(readout, out, rows, width);
	for (size_t p = 0; p < count; p++)
		for (int c = 0; c < COLUMNS; c++)
			free(rows[p].cells[c]);
	free(rows);
}
