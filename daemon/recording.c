/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows of a recording; see recording.h.
 */
#include "daemon/recording.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"

enum column_kind { COL_TIME, COL_PROBE, COL_TEMPERATURE, COL_TEMPERATURE_F, COL_HUMIDITY, COLS };
enum {
	MAX_COLUMNS = 16,
	FIRST_INSTANT = 366 * 86400, /* s: nobody recorded anything before */
};

static const char *const headings[COLS] = {
	[COL_TIME] = "time",
	[COL_PROBE] = "probe",
	[COL_TEMPERATURE] = "temperature",
	[COL_TEMPERATURE_F] = "temperature_f",
	[COL_HUMIDITY] = "humidity",
};

struct recording {
	FILE *file;
	char *path;
	const struct conf *conf;
	long line;
	char *text;
	size_t room;
	int at[COLS];           /* column of each kind, -1 when absent */
	double last_time;
	size_t next_probe;      /* recordings go round the probes: try this first */
};

static bool is_blank(char c)
{
	return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

/* Cuts a line into fields in place, without surrounding blanks and quotes;
 * returns how many there are, at most MAX_COLUMNS + 1. */
static int split(char *line, char *fields[MAX_COLUMNS])
{
	int count = 0;

	for (char *field = line; field;) {
		char *comma = strchr(field, ',');
		char *end = comma ? comma : field + strlen(field);

		if (count == MAX_COLUMNS)
			return MAX_COLUMNS + 1;
		while (*field == ' ' || *field == '\t')
			field++;
		while (end > field && is_blank(end[-1]))
			end--;
		if (end - field >= 2 && *field == '"' && end[-1] == '"') {
			field++;
			end--;
		}
		*end = '\0';
		fields[count++] = field;
		field = comma ? comma + 1 : NULL;
	}
	return count;
}

/* False at the end of the file. */
static bool next_line(struct recording *recording)
{
	recording->line++;
	return getline(&recording->text, &recording->room, recording->file) >= 0;
}

static bool take_heading(struct recording *recording, const char *word, int column)
{
	for (int kind = 0; kind < COLS; kind++)
		if (strcmp(word, headings[kind]) == 0 && recording->at[kind] < 0) {
			recording->at[kind] = column;
			return true;
		}
	return false;
}

static char *header_fault(const struct recording *recording, const char *what)
{
	return must_print("%s:%ld: %s; a recording begins with a line like "
			  "\"time,probe,temperature,humidity\"",
			  recording->path, recording->line, what);
}

static char *read_header(struct recording *recording)
{
	char *fields[MAX_COLUMNS];
	const int *at = recording->at;

	for (int kind = 0; kind < COLS; kind++)
		recording->at[kind] = -1;
	if (!next_line(recording))
		return ferror(recording->file)
			       ? must_print("%s cannot be read: %s", recording->path,
					    strerror(errno))
			       : header_fault(recording, "the file is empty");
	char *text = recording->text;
	int count = split(strncmp(text, "\xef\xbb\xbf", 3) == 0 ? text + 3 : text, fields);

	if (count > MAX_COLUMNS)
		return header_fault(recording, "too many columns");
	for (int i = 0; i < count; i++)
		if (!take_heading(recording, fields[i], i)) {
			char *what = must_print("\"%s\" is no column of a recording, or there twice",
						fields[i]);
			char *fault = header_fault(recording, what);

			free(what);
			return fault;
		}
	if (at[COL_TIME] < 0 || at[COL_PROBE] < 0 ||
	    (at[COL_TEMPERATURE] < 0 && at[COL_TEMPERATURE_F] < 0 && at[COL_HUMIDITY] < 0))
		return header_fault(recording, "time, probe or both values are missing");
	if (at[COL_TEMPERATURE] >= 0 && at[COL_TEMPERATURE_F] >= 0)
		return header_fault(recording, "temperature is there twice");
	return NULL;
}

struct recording *recording_open(const char *path, const struct conf *conf, char **fault)
{
	FILE *file = fopen(path, "re");

	if (!file) {
		*fault = must_print("%s cannot be opened: %s", path, strerror(errno));
		return NULL;
	}
	struct recording *recording = must_calloc(1, sizeof *recording);

	recording->file = file;
	recording->path = must_copy(path);
	recording->conf = conf;
	recording->last_time = -1e300;
	*fault = read_header(recording);
	if (*fault) {
		recording_close(recording);
		return NULL;
	}
	return recording;
}

void recording_close(struct recording *recording)
{
	if (!recording)
		return;
	fclose(recording->file);
	free(recording->path);
	free(recording->text);
	free(recording);
}

static bool find_probe(struct recording *recording, const char *name, size_t *index)
{
	const struct conf *conf = recording->conf;

	for (size_t i = 0; i < conf->probe_count; i++) {
		size_t probe = (recording->next_probe + i) % conf->probe_count;

		if (strcmp(conf->probes[probe].name, name) == 0) {
			*index = probe;
			recording->next_probe = probe + 1;
			return true;
		}
	}
	return false;
}

/* An optional value: true unless the field is there and is no number. */
static bool take_value(const struct recording *recording, char *const fields[],
		       enum column_kind kind, enum quantity quantity, struct reading *out)
{
	double value;

	if (recording->at[kind] < 0 || fields[recording->at[kind]][0] == '\0')
		return true;
	if (!parse_number(fields[recording->at[kind]], &value))
		return false;
	out->value[quantity] =
		kind == COL_TEMPERATURE_F ? celsius_from_fahrenheit(value) : value;
	out->has[quantity] = true;
	return true;
}

static char *row_fault(const struct recording *recording, const char *what, const char *field)
{
	return must_print("%s:%ld: %s: \"%s\"", recording->path, recording->line, what, field);
}

static enum row_kind read_row(struct recording *recording, char *const fields[],
			      struct reading *out, char **fault)
{
	const int *at = recording->at;
	const char *time = fields[at[COL_TIME]];

	if (!parse_instant(time, &out->time)) {
		*fault = row_fault(recording,
				   "this is no time; epoch seconds or ISO 8601 would be", time);
		return ROW_FAULT;
	}
	if (out->time < FIRST_INSTANT) {
		*fault = row_fault(recording,
				   "this time is of 1970; seconds since a logger's start are no "
				   "time of day",
				   time);
		return ROW_FAULT;
	}
	if (out->time < recording->last_time) {
		*fault = row_fault(recording,
				   "this row is earlier than the one before; a recording is in "
				   "order of time",
				   time);
		return ROW_FAULT;
	}
	recording->last_time = out->time;
	for (int kind = COL_TEMPERATURE; kind < COLS; kind++)
		if (!take_value(recording, fields, (enum column_kind)kind,
				kind == COL_HUMIDITY ? HUMIDITY : TEMPERATURE, out)) {
			*fault = row_fault(recording, "this is no number; leave it empty for none",
					   fields[at[kind]]);
			return ROW_FAULT;
		}
	return find_probe(recording, fields[at[COL_PROBE]], &out->probe) ? ROW_READING
									 : ROW_UNKNOWN_PROBE;
}

enum row_kind recording_next(struct recording *recording, struct reading *out, char **fault)
{
	char *fields[MAX_COLUMNS];
	int columns = 0, count;

	for (int kind = 0; kind < COLS; kind++)
		columns += recording->at[kind] >= 0;
	do {
		if (!next_line(recording)) {
			if (!ferror(recording->file))
				return ROW_END;
			*fault = must_print("%s:%ld: cannot be read: %s", recording->path,
					    recording->line, strerror(errno));
			return ROW_FAULT;
		}
		count = split(recording->text, fields);
	} while (count == 1 && fields[0][0] == '\0');
	memset(out, 0, sizeof *out);
	if (count != columns) {
		*fault = must_print("%s:%ld: %d fields where the header has %d", recording->path,
				    recording->line, count, columns);
		return ROW_FAULT;
	}
	return read_row(recording, fields, out, fault);
}
