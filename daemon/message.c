/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Alerts in sentences; see message.h.
 */
#include "daemon/message.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/advice.h"
#include "conf/daypart.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/utf8.h"
#include "conf/words.h"

char *message_cut(char *text, size_t most)
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

static bool is_below(const struct alert_record *record, const struct message_context *context)
{
	if (record->condition == RUNAWAY)
		return context->falling;
	return record->condition == BELOW_BAND || record->condition == BELOW_LIMITS;
}

static const char *complaint(const struct alert_record *record,
			     const struct message_context *context)
{
	return complaint_phrase(record->quantity, is_below(record, context),
				 record->condition == BELOW_LIMITS ||
					 record->condition == ABOVE_LIMITS);
}

static const char *who(const struct message_context *context)
{
	if (!context->enclosure)
		return "Warmside";
	return context->enclosure->is_room ? "Room" : context->enclosure->label;
}

/* " warm side" where the place matters, "" elsewhere. */
static char *where_of(const struct alert_record *record, const struct message_context *context)
{
	bool family = record->event == CLEARED && context->family;
	bool whole = record->condition == SILENT && record->priority == NOW &&
		     record->event != CLEARED;
	bool where = record->has_place && record->place != ROOM_AIR && !whole && !family &&
		     (record->condition == SILENT || record->condition == FROZEN ||
		      record->quantity == TEMPERATURE || record->computed);

	return must_print("%s%s", where ? " " : "", where ? place_phrase(record->place) : "");
}

/* For what was told before. */
static const char *still(const struct alert_record *record)
{
	return record->event == REMINDED ? "still " : "";
}

static const char *again(const struct alert_record *record,
			 const struct message_context *context)
{
	return record->event == RAISED && context->chattering ? " again" : "";
}

static char *predicate_of_silence(const struct alert_record *record,
				  const struct message_context *context)
{
	char time[MEASURE_TEXT];

	if (record->event == CLEARED)
		return must_print(" probe heard again after %s",
				  show_duration(record->until - record->since, time));
	if (context->patchy)
		return must_print(" probe %sanswers only now and then", still(record));
	if (record->priority == NOW)
		return must_print(": %s", record->event == REMINDED
						  ? "still no probe answers"
						  : "no probe answers any more");
	return must_print(" probe %ssilent%s for %s", still(record), again(record, context),
			  show_duration(floor((record->time - record->since) / 60) * 60, time));
}

static char *predicate_of_freezing(const struct alert_record *record)
{
	char time[MEASURE_TEXT];

	if (record->event == CLEARED)
		return must_copy(" probe frozen no more");
	return must_print(" probe %sfrozen: the same values for %s", still(record),
			  show_duration(floor((record->time - record->since) / 3600) * 3600,
					time));
}

static char *predicate_of_gradient(const struct alert_record *record,
				   const struct message_context *context)
{
	enum units units = context->conf->units;
	char text[MEASURE_TEXT];

	if (record->event == CLEARED)
		return must_print(" warm and cool side differ again after %s",
				  show_duration(record->until - record->since, text));
	return must_print(" %sonly %s between warm and cool side", still(record),
			  show_difference(record->value, TEMPERATURE, units, text));
}

static bool is_outside(const struct alert_record *record,
		       const struct message_context *context)
{
	return context->has_band && record->has_value &&
	       (record->value < context->band.low || record->value > context->band.high);
}

static char *predicate_of_reading(const struct alert_record *record,
				  const struct message_context *context)
{
	char text[MEASURE_TEXT];
	enum units units = context->conf->units;
	const char *how = record->computed ? " (computed)" : "";

	if (record->event == CLEARED && context->family)
		return must_print(" back in its bands after %s",
				  show_duration(record->until - context->family_since, text));
	if (record->event == CLEARED && !is_outside(record, context))
		return must_print(" back %s after %s",
				  context->has_band ? "in its band" : "within its limits",
				  show_duration(record->until - record->since, text));
	show_value(record->value, record->quantity, units, text);
	/* It jumped to the other side: that is no way back. */
	if (record->event == CLEARED)
		return must_print(" no longer %s, %s%s", complaint(record, context), text, how);
	if (record->condition == RUNAWAY)
		return must_print(" %s%s%s, %s", still(record),
				  context->falling ? "cold and falling" : "hot and rising",
				  again(record, context), text);
	return must_print(" %s%s%s, %s%s", still(record), complaint(record, context),
			  again(record, context), text, how);
}

static char *predicate_of(const struct alert_record *record,
			  const struct message_context *context)
{
	if (record->condition == SILENT)
		return predicate_of_silence(record, context);
	if (record->condition == FROZEN)
		return predicate_of_freezing(record);
	if (record->condition == NO_GRADIENT)
		return predicate_of_gradient(record, context);
	if (record->condition == MISTING_DUE)
		return misting_predicate(record);
	return record->has_quantity ? predicate_of_reading(record, context)
				    : trouble_predicate(record, context);
}

char *message_title(const struct alert_record *record, const struct message_context *context)
{
	if (record->event == TESTED)
		return must_copy("Test alert from Warmside: nothing is wrong");
	if (context->room)
		return room_title(context->room, record, context);
	char *predicate = predicate_of(record, context);
	char *where = where_of(record, context);
	const char *what = record->condition == MISTING_DUE ? "Misting due: " : "";
	size_t taken = utf8_count(what) + utf8_count(predicate) + utf8_count(where);
	/* A long label gives way to what is wrong, and where. */
	char *label = message_cut(must_copy(who(context)),
				  taken < TITLE_CHARACTERS - 1 ? TITLE_CHARACTERS - taken : 1);
	char *title = message_cut(must_print("%s%s%s%s", what, label, where, predicate),
				  TITLE_CHARACTERS);

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

static void print_gradient(FILE *out, const struct alert_record *record,
			   const struct message_context *context)
{
	enum units units = context->conf->units;
	char now[MEASURE_TEXT], least[MEASURE_TEXT];

	fprintf(out, ": %s between warm and cool side now, at least %s wanted by day.\n",
		show_difference(record->value, TEMPERATURE, units, now),
		show_difference(context->band.low, TEMPERATURE, units, least));
}

static void print_probe(FILE *out, const struct alert_record *record,
			const struct message_context *context)
{
	bool over = record->event == CLEARED;

	if (record->condition == FROZEN)
		fprintf(out, ": its probe %s.\n",
			over ? "gives other values again"
			     : "has given the very same values for a day");
	else if (context->patchy)
		fputs(": its probe answers only now and then, or gives values that cannot be.\n",
		      out);
	else
		fprintf(out, ": its probe gives %s%s%s%s.\n", over ? "" : "no valid ",
			record->has_quantity ? quantity_word(record->quantity) : "readings",
			over ? " again" : "",
			!over && record->priority == NOW ? ", nor does any other probe there" : "");
	if (!over && context->reason[0])
		fprintf(out, "On its bus: %s%s\n", context->reason,
			context->reason[strlen(context->reason) - 1] == '?' ? "" : ".");
}

/* Since when, for how long, how far. */
static void print_course(FILE *out, const struct alert_record *record,
			 const struct message_context *context)
{
	bool over = record->event == CLEARED;
	double until = over ? record->until : record->time;
	char since[MEASURE_TEXT], length[MEASURE_TEXT], worst[MEASURE_TEXT];

	fprintf(out, "%s %s%s%s", over ? "It began" : "Since",
		show_instant_local(record->since, since), over ? " and lasted " : ", for ",
		show_duration(until - record->since, length));
	if (record->has_worst && record->condition == NO_GRADIENT)
		fprintf(out, "; least %s",
			show_difference(record->worst, TEMPERATURE, context->conf->units, worst));
	else if (record->has_worst)
		fprintf(out, "; %s %s", is_below(record, context) ? "lowest" : "highest",
			show_value(record->worst, record->quantity, context->conf->units, worst));
	fputs(".\n", out);
}

/* The advice for a record; false when there is none. */
static bool advice_of(const struct alert_record *record, const struct message_context *context,
		      enum advice *advice)
{
	bool below = is_below(record, context);

	if (record->event == CLEARED)
		return false;
	if (record->condition == SILENT)
		*advice = ADVICE_SILENT;
	else if (record->condition == FROZEN)
		*advice = ADVICE_FROZEN;
	else if (record->condition == NO_GRADIENT)
		*advice = ADVICE_GRADIENT;
	else if (record->quantity == HUMIDITY)
		*advice = below ? ADVICE_DRY : ADVICE_DAMP;
	else
		*advice = below ? ADVICE_COLD : ADVICE_HOT;
	return record->has_quantity || record->condition == SILENT || record->condition == FROZEN;
}

static void print_advice(FILE *out, const struct alert_record *record,
			 const struct message_context *context)
{
	enum advice advice;

	if (context->chattering && record->event == RAISED)
		fputs("It has come and gone again and again within an hour: it chatters. It is told "
		      "once more now, and as over when it has been steady for an hour.\n", out);
	if (context->unanswered)
		fputs("Nobody has acknowledged it yet, so it is passed on: please look after it, or "
		      "reach the keeper.\n", out);
	else if (context->acked && record->event == WORSENED)
		fputs("It was acknowledged before it grew worse.\n", out);
	if (advice_of(record, context, &advice))
		fprintf(out, "%s\n",
			advice_text(&(struct advised){
					    .enclosure = context->enclosure,
					    .hot_spot = record->has_place && record->place == HOT_SPOT,
					    .date = daypart_at(&context->conf->day, record->time).date },
				    advice));
}

char *message_text(const struct alert_record *record, const struct message_context *context)
{
	char *text = NULL;
	size_t size;
	FILE *out;

	if (record->event == TESTED)
		return must_print("This is a test of the whole chain, asked for by %s. Nothing is "
				  "wrong.\n", record->by[0] ? record->by : "somebody here");
	if (context->room)
		return room_text(context->room, record, context);
	out = open_memstream(&text, &size);
	if (!out)
		return must_copy("");
	print_subject(out, record, context);
	if (record->condition == SILENT || record->condition == FROZEN)
		print_probe(out, record, context);
	else if (record->condition == NO_GRADIENT)
		print_gradient(out, record, context);
	else if (record->has_quantity)
		reading_print(out, record, context);
	else
		trouble_print(out, record, context);
	if (record->condition == MISTING_DUE) {
		misting_print(out, record, context);
	} else {
		if (record->has_since)
			print_course(out, record, context);
		print_advice(out, record, context);
	}
	if (fclose(out) != 0 || !text)
		return must_copy("");
	return text;
}
