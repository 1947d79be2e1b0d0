/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Alerts in sentences; see message.h.
 */
#include "daemon/message.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"

static size_t characters(const char *text)
{
	size_t count = 0;

	for (; *text; text++)
		count += ((unsigned char)*text & 0xc0) != 0x80;
	return count;
}

/* Text of at most so many characters: a longer one is freed and comes back
 * cut, the last character an ellipsis. */
static char *cut(char *text, size_t most)
{
	size_t count = 0, keep = 0;

	for (size_t i = 0; text[i]; i++)
		if (((unsigned char)text[i] & 0xc0) != 0x80 && ++count == most)
			keep = i;
	if (count <= most)
		return text;
	char *shorter = must_print("%.*s…", (int)keep, text);

	free(text);
	return shorter;
}

/* What is wrong with a reading, in a keeper's word. */
static const char *complaint(const struct alert_record *record)
{
	bool below = record->condition == BELOW_BAND || record->condition == BELOW_LIMITS;
	bool limits = record->condition == BELOW_LIMITS || record->condition == ABOVE_LIMITS;

	if (record->quantity == HUMIDITY)
		return below ? (limits ? "dangerously dry" : "too dry")
			     : (limits ? "dangerously damp" : "too damp");
	return below ? (limits ? "dangerously cold" : "too cold")
		     : (limits ? "dangerously hot" : "too hot");
}

static const char *who(const struct message_context *context)
{
	if (!context->enclosure)
		return "Warmside";
	return context->enclosure->is_room ? "Room" : context->enclosure->label;
}

/* " warm side" where the place matters, "" elsewhere. */
static char *where_of(const struct alert_record *record)
{
	bool where = record->has_place && record->place != ROOM_AIR &&
		     (record->condition == SILENT || record->quantity == TEMPERATURE);

	return must_print("%s%s", where ? " " : "", where ? place_phrase(record->place) : "");
}

static char *predicate_of_silence(const struct alert_record *record,
				  const struct message_context *context)
{
	char time[MEASURE_TEXT];

	if (record->event == CLEARED)
		return must_print(" probe heard again after %s",
				  show_duration(context->over - record->since, time));
	if (context->whole_enclosure)
		return must_copy(" probe silent: no probe answers there");
	return must_print(" probe silent for %s",
			  show_duration(floor((record->time - record->since) / 60) * 60, time));
}

static char *predicate_of_reading(const struct alert_record *record,
				  const struct message_context *context)
{
	char text[MEASURE_TEXT];

	if (record->event == CLEARED)
		return must_print(" back in its %s after %s",
				  context->has_band ? "band" : "limits",
				  show_duration(context->over - record->since, text));
	return must_print(" %s, %s", complaint(record),
			  show_value(record->value, record->quantity, context->conf->units, text));
}

/* The tool's own trouble. */
static char *predicate_of_trouble(const struct alert_record *record,
				  const struct message_context *context)
{
	bool over = record->event == CLEARED;

	if (record->condition == CLOCK)
		return must_copy(over ? ": the clock has caught up"
				      : ": the clock went back, no records until it passes");
	if (context->enclosure)
		return must_copy(": archive damaged, a new one has begun");
	return must_copy(over ? ": archives are written again"
			      : ": archives cannot be written");
}

char *message_title(const struct alert_record *record, const struct message_context *context)
{
	char *predicate = record->condition == SILENT ? predicate_of_silence(record, context)
			  : record->has_quantity     ? predicate_of_reading(record, context)
						     : predicate_of_trouble(record, context);
	char *where = where_of(record);
	size_t taken = characters(predicate) + characters(where);
	/* A long label gives way to what is wrong, and where. */
	char *label = cut(must_copy(who(context)),
			  taken < TITLE_CHARACTERS - 1 ? TITLE_CHARACTERS - taken : 1);
	char *title = cut(must_print("%s%s%s", label, where, predicate), TITLE_CHARACTERS);

	free(label);
	free(where);
	free(predicate);
	return title;
}

/* "Third tub (T3), corn snake, cool side" */
static void print_subject(FILE *out, const struct alert_record *record,
			  const struct message_context *context)
{
	const struct enclosure *enclosure = context->enclosure;

	fputs(who(context), out);
	if (enclosure && !enclosure->is_room && strcmp(enclosure->label, enclosure->name) != 0)
		fprintf(out, " (%s)", enclosure->name);
	if (enclosure && enclosure->species)
		fprintf(out, ", %s", enclosure->species->name);
	if (record->has_place && record->place != ROOM_AIR)
		fprintf(out, ", %s", place_phrase(record->place));
}

static void print_reading(FILE *out, const struct alert_record *record,
			  const struct message_context *context)
{
	enum units units = context->conf->units;
	char text[MEASURE_TEXT];

	fprintf(out, ": %s %s now", quantity_word(record->quantity),
		record->has_value ? show_value(record->value, record->quantity, units, text)
				  : "not known");
	if (context->has_band)
		fprintf(out, ", wanted %s", show_range(context->band, record->quantity, units, text));
	if (context->enclosure) {
		const struct rule *rule =
			&context->enclosure->places[record->place].rules[record->quantity];

		if (rule->has_limits)
			fprintf(out, ", limits %s",
				show_range(rule->limits, record->quantity, units, text));
	}
	fputs(".\n", out);
}

static void print_trouble(FILE *out, const struct alert_record *record,
			  const struct message_context *context)
{
	if (record->condition == CLOCK)
		fputs(": this computer's clock was set back. What is archived cannot be "
		      "archived again, so readings are dropped until it has caught up.\n",
		      out);
	else if (context->enclosure)
		fputs(": its archive could not be read and was set aside beside the new one; "
		      "it is not lost, and the watch goes on.\n",
		      out);
	else
		fputs(": readings wait in memory until their archives can be written. Is the "
		      "disk full? The watch and the messages go on.\n",
		      out);
}

/* Since when, for how long, how far. */
static void print_course(FILE *out, const struct alert_record *record,
			 const struct message_context *context)
{
	bool over = record->event == CLEARED;
	double until = over ? context->over : record->time;
	char since[MEASURE_TEXT], length[MEASURE_TEXT], worst[MEASURE_TEXT];

	fprintf(out, "%s %s, %s%s", over ? "It began" : "Since",
		show_instant_local(record->since, since), over ? "and lasted " : "",
		show_duration(until - record->since, length));
	if (record->has_worst)
		fprintf(out, "; %s %s",
			record->condition == BELOW_BAND || record->condition == BELOW_LIMITS
				? "lowest"
				: "highest",
			show_value(record->worst, record->quantity, context->conf->units, worst));
	fputs(".\n", out);
}

char *message_text(const struct alert_record *record, const struct message_context *context)
{
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);

	if (!out)
		return must_copy("");
	print_subject(out, record, context);
	if (record->condition == SILENT)
		fprintf(out, ": its probe gives %s%s%s%s.\n",
			record->event == CLEARED ? "" : "no valid ",
			record->has_quantity ? quantity_word(record->quantity) : "readings",
			record->event == CLEARED ? " again" : "",
			context->whole_enclosure ? ", nor does any other probe there" : "");
	else if (record->has_quantity)
		print_reading(out, record, context);
	else
		print_trouble(out, record, context);
	if (record->has_since)
		print_course(out, record, context);
	if (fclose(out) != 0 || !text)
		return must_copy("");
	return text;
}

static char *json_body(const struct alert_record *record, const char *title, const char *text)
{
	char time[MEASURE_TEXT];
	char *type = must_print("alert.%s", event_word(record->event));
	json_t *data = alert_to_json(record);
	json_t *body;
	char *dump;

	json_object_set_new(data, "title", json_string(title));
	json_object_set_new(data, "text", json_string(text));
	body = json_pack("{s:s,s:s,s:o}", "type", type, "timestamp",
			 show_instant_utc(record->time, time), "data", data);
	dump = json_dumps(body, JSON_COMPACT | JSON_REAL_PRECISION(12));
	json_decref(body);
	free(type);
	return dump;
}

char *message_body(enum body body, const struct alert_record *record, const char *title,
		   const char *text)
{
	if (body == BODY_TEXT)
		return must_print("%s\n\n%s", title, text);
	return json_body(record, title, text);
}

const char *message_content_type(enum body body)
{
	return body == BODY_TEXT ? "text/plain; charset=utf-8" : "application/json";
}
