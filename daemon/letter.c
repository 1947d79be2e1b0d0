/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One message from all that was gathered; see gathering.h.
 */
#include "daemon/gathering.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/words.h"
#include "daemon/body.h"

enum {
	FULL_TEXTS = 5,         /* of so many the whole text, of the others the title */
	MOST_TITLES = 60,
	MOST_RECORDS = 100,     /* in the JSON body */
	ALIKE_LEAST = 3,        /* so many silent probes are one matter */
};

static const size_t EVERYBODY = (size_t)-1;

/* What a webhook is told of, worst first; items are borrowed. */
struct letter {
	const struct conf *conf;
	const struct item **items; /* each with its words */
	size_t count;
	size_t flood;
};

/* ---- what is in it --------------------------------------------------------- */

static bool is_straying(enum condition condition)
{
	return condition == BELOW_BAND || condition == ABOVE_BAND || condition == RUNAWAY ||
	       beyond_limits(condition);
}

/* Whether an item, told after another, makes that superfluous: the same alert is
 * over again, or the same silence has become that of the whole enclosure, or it is
 * part now of a matter of the whole room that is as urgent; and of two tellings of
 * one matter the later one counts. */
static bool covers(const struct item *later, const struct item *item)
{
	if (later->joins)
		return false;
	if (strcmp(later->record.id, item->record.id) == 0 &&
	    (later->event == CLEARED ||
	     (later->event == WORSENED && later->record.condition == SILENT)))
		return true;
	return later->room && is_straying(item->record.condition) &&
	       later->side == item->side && later->record.quantity == item->record.quantity &&
	       later->priority >= item->priority && (item->room || later->event != CLEARED) &&
	       (item->room || item->event != CLEARED);
}

/* For a webhook, or for EVERYBODY. */
static bool is_told(const struct item *item, const struct conf *conf, size_t webhook)
{
	return webhook == EVERYBODY || item_is_for(item, conf, webhook);
}

static bool is_covered(const struct gathering *gathering, size_t index,
		       const struct conf *conf, size_t webhook)
{
	const struct item *item = &gathering->items[index];

	if (item->joins)
		return true;
	for (size_t i = index + 1; i < gathering->count; i++)
		if (covers(&gathering->items[i], item) &&
		    is_told(&gathering->items[i], conf, webhook))
			return true;
	return false;
}

/* A misting that will be due is no alert yet: it stands behind whatever has happened. */
static bool is_reminder(const struct item *item)
{
	return item->record.condition == MISTING_DUE;
}

static int worst_first(const void *a, const void *b)
{
	static const int order[EVENTS] = { [WORSENED] = 0, [RAISED] = 1, [REMINDED] = 2,
					   [CLEARED] = 3 };
	const struct item *one = *(const struct item *const *)a;
	const struct item *other = *(const struct item *const *)b;
	bool over = one->event == CLEARED, other_over = other->event == CLEARED;

	if (over != other_over)
		return over - other_over;
	if (is_reminder(one) != is_reminder(other))
		return is_reminder(one) - is_reminder(other);
	if (one->priority != other->priority)
		return one->priority < other->priority ? 1 : -1;
	if (order[one->event] != order[other->event])
		return order[one->event] - order[other->event];
	return (one->record.time > other->record.time) - (one->record.time < other->record.time);
}

static void choose(struct letter *letter, const struct gathering *gathering, size_t webhook)
{
	letter->items = must_calloc(gathering->count, sizeof *letter->items);
	for (size_t i = 0; i < gathering->count; i++)
		if (is_told(&gathering->items[i], letter->conf, webhook) &&
		    !is_covered(gathering, i, letter->conf, webhook))
			letter->items[letter->count++] = &gathering->items[i];
	if (letter->count > 1)
		qsort(letter->items, letter->count, sizeof *letter->items, worst_first);
	if (letter->count > 0 && is_reminder(letter->items[0]))
		letter->flood = 0; /* of what others were told */
}

/* That of the gravest in it; of what is over only when all is. */
static enum priority priority_of(const struct letter *letter)
{
	enum priority priority = letter->items[0]->priority;

	for (size_t i = 0; i < letter->count && letter->items[i]->event != CLEARED; i++)
		if (letter->items[i]->priority > priority)
			priority = letter->items[i]->priority;
	return priority;
}

/* ---- title ----------------------------------------------------------------- */

static const char *label_of(const struct conf *conf, const struct item *item)
{
	const struct enclosure *enclosure = find_enclosure(conf, item->record.enclosure);

	return enclosure ? enclosure->label : item->record.enclosure;
}

/* Whether it is about one enclosure, and not about the room or several. */
static bool one_enclosure(const struct letter *letter)
{
	for (size_t i = 0; i < letter->count; i++)
		if (letter->items[i]->room ||
		    strcmp(letter->items[i]->record.enclosure,
			   letter->items[0]->record.enclosure) != 0)
			return false;
	return true;
}

/* What is silent may have been so by itself first, and then with its whole enclosure. */
static bool is_silent_alike(const struct letter *letter, size_t index)
{
	const struct item *item = letter->items[index], *first = letter->items[0];

	return item->record.condition == SILENT &&
	       (item->event == WORSENED ? RAISED : item->event) ==
		       (first->event == WORSENED ? RAISED : first->event);
}

/* How many probes fell silent, or are heard again, together, when that is the
 * gravest in it; 0 when they are few. */
static size_t silent_together(const struct letter *letter)
{
	size_t count = 0;

	for (size_t i = 0; i < letter->count; i++)
		count += is_silent_alike(letter, i);
	return letter->items[0]->record.condition == SILENT && count >= ALIKE_LEAST ? count : 0;
}

/* Its other place has been. */
static bool is_named_before(const struct letter *letter, size_t index)
{
	for (size_t i = 0; i < index; i++)
		if (is_silent_alike(letter, i) &&
		    strcmp(letter->items[i]->record.enclosure,
			   letter->items[index]->record.enclosure) == 0)
			return true;
	return false;
}

static char *title_of_silence(const struct letter *letter)
{
	enum event event = letter->items[0]->event;
	char *title = must_print("%zu probes %s:", silent_together(letter),
				 event == CLEARED    ? "heard again"
				 : event == REMINDED ? "still silent"
						     : "silent");
	const char *before = "";

	for (size_t i = 0; i < letter->count; i++) {
		if (!is_silent_alike(letter, i) || is_named_before(letter, i))
			continue;
		char *longer = must_print("%s%s %s", title, before,
					  label_of(letter->conf, letter->items[i]));

		free(title);
		title = longer;
		before = ",";
	}
	return message_cut(title, TITLE_CHARACTERS);
}

static char *title_of(const struct letter *letter)
{
	const char *first = letter->items[0]->title;

	if (silent_together(letter))
		return title_of_silence(letter);
	if (letter->flood)
		return message_cut(must_print("%zu alerts in 10 min: %s", letter->flood, first),
				   TITLE_CHARACTERS);
	if (letter->count == 1)
		return must_copy(first);
	char *rest = must_print("; %zu more", letter->count - 1);
	char *head = message_cut(must_copy(first), TITLE_CHARACTERS - strlen(rest));
	char *title = must_print("%s%s", head, rest);

	free(rest);
	free(head);
	return title;
}

/* ---- text ------------------------------------------------------------------ */

/* "No probe answers any more" is said of each place of an enclosure. */
static bool is_said_before(const struct letter *letter, size_t index)
{
	for (size_t i = 0; i < index; i++)
		if (strcmp(letter->items[i]->title, letter->items[index]->title) == 0)
			return true;
	return false;
}

static void print_list(FILE *out, const struct letter *letter)
{
	for (size_t i = 0; i < letter->count && i < MOST_TITLES; i++)
		if (!is_said_before(letter, i))
			fprintf(out, "- %s\n", letter->items[i]->title);
	if (letter->count > MOST_TITLES)
		fprintf(out, "and %zu more\n", letter->count - MOST_TITLES);
}

static char *text_of(const struct letter *letter)
{
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);

	if (!out)
		return must_copy(letter->items[0]->text);
	if (letter->flood)
		fprintf(out, "Very many at once: %zu alerts within 10 min. Until it calms down, what is "
			"not urgent waits 5 minutes and comes together.\n", letter->flood);
	if (silent_together(letter) && letter->items[0]->event != CLEARED)
		fputs("So many at once usually have one cause: an adapter, a cable or a power supply. "
		      "(common practice)\n", out);
	if (letter->count > 1)
		print_list(out, letter);
	for (size_t i = 0; i < letter->count && i < FULL_TEXTS; i++)
		fprintf(out, "%s%s", letter->count > 1 ? "\n" : "", letter->items[i]->text);
	if (fclose(out) != 0 || !text)
		return must_copy(letter->items[0]->text);
	return text;
}

/* ---- the message ----------------------------------------------------------- */

/* The first record, and all of them, those that joined silently too. */
static json_t *data_of(const struct letter *letter, const struct gathering *gathering,
		       size_t webhook)
{
	const struct item *first = letter->items[0];
	json_t *data = alert_to_json(&first->record), *alerts = json_array();

	for (size_t i = 0; i < gathering->count && json_array_size(alerts) < MOST_RECORDS; i++) {
		struct alert_record record = gathering->items[i].record;

		if (!is_told(&gathering->items[i], letter->conf, webhook))
			continue;
		snprintf(record.message, sizeof record.message, "%s", gathering->id);
		json_array_append_new(alerts, alert_to_json(&record));
	}
	json_object_set_new(data, "message", json_string(gathering->id));
	json_object_set_new(data, "alerts", alerts);
	json_object_set_new(data, "room_wide", json_boolean(first->room));
	return data;
}

static void add_parts(const struct gathering *gathering, const struct conf *conf,
		      size_t webhook, struct outgoing *out)
{
	out->parts = must_calloc(gathering->count, sizeof *out->parts);
	for (size_t i = 0; i < gathering->count; i++) {
		const struct item *item = &gathering->items[i];

		if (item->record.event == TESTED || !is_told(item, conf, webhook))
			continue;
		struct outgoing_part *part = &out->parts[out->part_count++];

		memcpy(part->alert, item->record.id, sizeof part->alert);
		part->cleared = item->record.event == CLEARED;
	}
}

bool gathering_write(const struct gathering *gathering, const struct conf *conf, size_t webhook,
		     size_t flood, struct outgoing *out)
{
	struct letter letter = { .conf = conf, .flood = flood };

	choose(&letter, gathering, webhook);
	if (letter.count == 0) {
		free(letter.items);
		return false;
	}
	const struct item *first = letter.items[0];
	char *title = title_of(&letter), *text = text_of(&letter);
	char *type = must_print("alert.%s", event_word(first->event));
	json_t *data = data_of(&letter, gathering, webhook);
	const struct message message = {
		.id = gathering->id,
		.type = type,
		.time = first->record.time,
		.priority = priority_of(&letter),
		.enclosure = one_enclosure(&letter) ? label_of(conf, first) : "",
		.title = title,
		.text = text,
		.data = data,
	};

	*out = (struct outgoing){ 0 }; /* whoever sends it says when */
	memcpy(out->id, gathering->id, sizeof out->id);
	memcpy(out->alert, first->record.id, sizeof out->alert);
	strncpy(out->webhook, conf->webhooks[webhook].name, sizeof out->webhook - 1);
	body_write(&conf->webhooks[webhook], &message, out);
	add_parts(gathering, conf, webhook, out);
	json_decref(data);
	free(type);
	free(title);
	free(text);
	free(letter.items);
	return true;
}

char *gathering_title(const struct gathering *gathering, const struct conf *conf, size_t flood)
{
	struct letter letter = { .conf = conf, .flood = flood };

	choose(&letter, gathering, EVERYBODY);
	char *title = letter.count ? title_of(&letter) : must_copy("");

	free(letter.items);
	return title;
}
