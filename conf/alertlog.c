/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Alert-log records and their lines; see alertlog.h.
 */
#include "conf/alertlog.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/words.h"

static const double WHOLE_MOST = 1e15; /* that a json_int_t holds, and a double to the one */

static const char *const events[EVENTS] = {
	[RAISED] = "raised",	   [REMINDED] = "reminded",   [WORSENED] = "worsened",
	[ACKNOWLEDGED] = "acknowledged", [CLEARED] = "cleared", [SHELVED] = "shelved",
	[UNSHELVED] = "unshelved", [DELIVERED] = "delivered", [TESTED] = "test",
};

static const char *const conditions[CONDITIONS] = {
	[BELOW_BAND] = "below_band",	 [ABOVE_BAND] = "above_band",
	[BELOW_LIMITS] = "below_limits", [ABOVE_LIMITS] = "above_limits",
	[RUNAWAY] = "runaway",		 [NO_GRADIENT] = "no_gradient",
	[SILENT] = "silent",		 [FROZEN] = "frozen",
	[CLOCK] = "clock",		 [ARCHIVE] = "archive",
	[DELIVERY] = "delivery",	 [DISK] = "disk",
	[UNTESTED] = "untested",	 [MISTING_DUE] = "misting_due",
	[UNCALIBRATED] = "uncalibrated",
};

static const char *const priorities[PRIORITIES] = {
	[UPKEEP] = "upkeep", [TODAY] = "today", [NOW] = "now",
};

const char *event_word(enum event event)
{
	return events[event];
}

const char *condition_word(enum condition condition)
{
	return conditions[condition];
}

const char *priority_word(enum priority priority)
{
	return priorities[priority];
}

static bool word_index(const char *word, const char *const words[], int count, int *index)
{
	for (int i = 0; i < count; i++)
		if (strcmp(word, words[i]) == 0) {
			*index = i;
			return true;
		}
	return false;
}

bool event_from_word(const char *word, enum event *event)
{
	int index;

	if (!word_index(word, events, EVENTS, &index))
		return false;
	*event = (enum event)index;
	return true;
}

bool condition_from_word(const char *word, enum condition *condition)
{
	int index;

	if (!word_index(word, conditions, CONDITIONS, &index))
		return false;
	*condition = (enum condition)index;
	return true;
}

bool priority_from_word(const char *word, enum priority *priority)
{
	int index;

	if (!word_index(word, priorities, PRIORITIES, &index))
		return false;
	*priority = (enum priority)index;
	return true;
}

static json_t *text_or_null(bool present, const char *text)
{
	return present ? json_string(text) : json_null();
}

static json_t *number_or_null(bool present, double value)
{
	return present ? json_real(value) : json_null();
}

/* Instants are whole seconds in the log when they are whole. */
static json_t *instant_or_null(bool present, double value)
{
	if (present && fabs(value) < WHOLE_MOST && value == floor(value))
		return json_integer((json_int_t)value);
	return number_or_null(present, value);
}

/* What only some events have stands in the line only then. */
static void add_rarely(json_t *object, const struct alert_record *r)
{
	const struct {
		const char *key, *text;
	} texts[] = { { "webhook", r->webhook }, { "joins", r->joins }, { "by", r->by }, { "note", r->note } };

	if (r->computed)
		json_object_set_new(object, "computed", json_true());
	if (r->has_until)
		json_object_set_new(object, "until", instant_or_null(true, r->until));
	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
		if (texts[i].text[0])
			json_object_set_new(object, texts[i].key, json_string(texts[i].text));
}

json_t *alert_to_json(const struct alert_record *r)
{
	json_t *object = json_pack(
		"{s:o,s:s,s:o,s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}",
		"time", instant_or_null(true, r->time),
		"id", r->id,
		"message", text_or_null(r->message[0], r->message),
		"event", events[r->event],
		"enclosure", text_or_null(r->enclosure[0], r->enclosure),
		"place", r->has_place ? json_string(place_word(r->place)) : json_null(),
		"quantity", r->has_quantity ? json_string(quantity_word(r->quantity)) : json_null(),
		"condition", r->has_condition ? json_string(conditions[r->condition]) : json_null(),
		"priority", r->has_priority ? json_string(priorities[r->priority]) : json_null(),
		"value", number_or_null(r->has_value, r->value),
		"since", instant_or_null(r->has_since, r->since),
		"worst", number_or_null(r->has_worst, r->worst));

	add_rarely(object, r);
	return object;
}

char *alert_to_line(const struct alert_record *record)
{
	json_t *object = alert_to_json(record);
	char *line = json_dumps(object, JSON_COMPACT | JSON_REAL_PRECISION(12));

	json_decref(object);
	return line;
}

/* A string member into a fixed field; absent and null leave it empty. */
static bool take_text(const json_t *object, const char *key, char *field, size_t size)
{
	const json_t *member = json_object_get(object, key);

	field[0] = '\0';
	if (!member || json_is_null(member))
		return true;
	if (!json_is_string(member) || json_string_length(member) >= size)
		return false;
	memcpy(field, json_string_value(member), json_string_length(member) + 1);
	return true;
}

static bool take_number(const json_t *object, const char *key, bool *present, double *value)
{
	const json_t *member = json_object_get(object, key);

	*present = json_is_number(member);
	if (*present)
		*value = json_number_value(member);
	return *present || !member || json_is_null(member);
}

static bool take_instant(const json_t *object, const char *key, bool *present, double *value)
{
	return take_number(object, key, present, value) && (!*present || is_instant(*value));
}

/* A word member into an enum's index; absent and null are allowed. */
static bool take_word(const json_t *object, const char *key, const char *const words[], int count,
		      bool *present, int *index)
{
	char word[32];

	if (!take_text(object, key, word, sizeof word))
		return false;
	*present = word[0] != '\0';
	return !*present || word_index(word, words, count, index);
}

static bool take_where(const json_t *object, struct alert_record *out)
{
	char word[32];

	if (!take_text(object, "enclosure", out->enclosure, sizeof out->enclosure) ||
	    !take_text(object, "place", word, sizeof word))
		return false;
	out->has_place = word[0] != '\0';
	if (out->has_place && !place_from_word(word, &out->place))
		return false;
	if (!take_text(object, "quantity", word, sizeof word))
		return false;
	out->has_quantity = word[0] != '\0';
	out->computed = json_is_true(json_object_get(object, "computed"));
	return !out->has_quantity || quantity_from_word(word, &out->quantity);
}

bool alert_from_json(const json_t *object, struct alert_record *out)
{
	struct alert_record record = { 0 };
	bool has_time, has_event;
	int event = 0, condition = 0, priority = 0;

	if (!json_is_object(object) ||
	    !take_instant(object, "time", &has_time, &record.time) || !has_time ||
	    !take_text(object, "id", record.id, sizeof record.id) ||
	    !take_text(object, "message", record.message, sizeof record.message) ||
	    !take_word(object, "event", events, EVENTS, &has_event, &event) || !has_event ||
	    !take_where(object, &record) ||
	    !take_word(object, "condition", conditions, CONDITIONS, &record.has_condition,
		       &condition) ||
	    !take_word(object, "priority", priorities, PRIORITIES, &record.has_priority,
		       &priority) ||
	    !take_number(object, "value", &record.has_value, &record.value) ||
	    !take_instant(object, "since", &record.has_since, &record.since) ||
	    !take_number(object, "worst", &record.has_worst, &record.worst) ||
	    !take_instant(object, "until", &record.has_until, &record.until) ||
	    !take_text(object, "webhook", record.webhook, sizeof record.webhook) ||
	    !take_text(object, "joins", record.joins, sizeof record.joins) ||
	    !take_text(object, "by", record.by, sizeof record.by) ||
	    !take_text(object, "note", record.note, sizeof record.note))
		return false;
	record.event = (enum event)event;
	record.condition = (enum condition)condition;
	record.priority = (enum priority)priority;
	*out = record;
	return true;
}

bool alert_from_line(const char *line, struct alert_record *out)
{
	json_t *object = json_loads(line, JSON_REJECT_DUPLICATES, NULL);
	bool good = alert_from_json(object, out);

	json_decref(object);
	return good;
}
