/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Many messages in one; see summary.h.
 */
#include "daemon/summary.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "daemon/alert.h"
#include "daemon/body.h"

enum { MOST_LINES = 50 }; /* of the text: a phone is to show it */

static void add_part(struct outgoing *out, const char *alert)
{
	struct outgoing_part *part;

	out->parts = must_resize(out->parts, out->part_count + 1, sizeof *out->parts);
	part = &out->parts[out->part_count++];
	*part = (struct outgoing_part){ .cleared = true };
	snprintf(part->alert, sizeof part->alert, "%s", alert);
}

static void add_replaced(struct outgoing *out, const struct outgoing_replaced *replaced)
{
	struct outgoing_replaced *one;

	out->replaced = must_resize(out->replaced, out->replaced_count + 1, sizeof *out->replaced);
	one = &out->replaced[out->replaced_count++];
	*one = *replaced;
	one->title = must_copy(replaced->title ? replaced->title : "");
}

/* A message, or an earlier summary with all that it stands for.  That one's
 * own id is nothing that the alert log knows: it has no alert. */
static void add(struct outgoing *out, const struct outgoing *message)
{
	struct outgoing_replaced one = { .created = message->created, .title = message->title };

	memcpy(one.id, message->id, sizeof one.id);
	if (message->replaced_count == 0)
		memcpy(one.alert, *message->alert ? message->alert : message->parts[0].alert,
		       sizeof one.alert);
	add_replaced(out, &one);
	for (size_t i = 0; i < message->replaced_count; i++)
		add_replaced(out, &message->replaced[i]);
	for (size_t i = 0; i < message->part_count; i++)
		add_part(out, message->parts[i].alert);
}

static int by_time(const void *a, const void *b)
{
	const struct outgoing_replaced *one = a, *other = b;

	return (one->created > other->created) - (one->created < other->created);
}

static int by_alert(const void *a, const void *b)
{
	return strcmp(((const struct outgoing_part *)a)->alert,
		      ((const struct outgoing_part *)b)->alert);
}

static void order(struct outgoing *out)
{
	size_t last = 0;

	qsort(out->replaced, out->replaced_count, sizeof *out->replaced, by_time);
	qsort(out->parts, out->part_count, sizeof *out->parts, by_alert);
	for (size_t i = 1; i < out->part_count; i++)
		if (by_alert(&out->parts[last], &out->parts[i]) != 0)
			out->parts[++last] = out->parts[i];
	out->part_count = last + 1;
}

static size_t lines_of(const struct outgoing *out)
{
	size_t count = 0;

	for (size_t i = 0; i < out->replaced_count; i++)
		count += *out->replaced[i].alert != '\0';
	return count;
}

/* The latest of them, in order. */
static char *text_of(const struct outgoing *out)
{
	size_t size, count = lines_of(out), skip = count > MOST_LINES ? count - MOST_LINES : 0;
	char *text = NULL, time[MEASURE_TEXT];
	FILE *file = open_memstream(&text, &size);

	if (!file)
		return must_copy("");
	fputs("These could not be sent in time, and all are over by now:\n", file);
	if (skip)
		fprintf(file, "(%zu earlier ones are in the alert log)\n", skip);
	for (size_t i = 0; i < out->replaced_count; i++) {
		const struct outgoing_replaced *one = &out->replaced[i];

		if (!*one->alert)
			continue;
		if (skip == 0)
			fprintf(file, "%s  %s\n", show_instant_local(one->created, time), one->title);
		else
			skip--;
	}
	if (fclose(file) != 0 || !text) {
		free(text);
		return must_copy("");
	}
	return text;
}

static json_t *data_of(const struct outgoing *out)
{
	json_t *messages = json_array(), *alerts = json_array();

	for (size_t i = 0; i < out->replaced_count; i++)
		if (*out->replaced[i].alert)
			json_array_append_new(messages, json_string(out->replaced[i].id));
	for (size_t i = 0; i < out->part_count; i++)
		json_array_append_new(alerts, json_string(out->parts[i].alert));
	return json_pack("{s:o,s:o}", "messages", messages, "alerts", alerts);
}

static void put_into_words(const struct webhook *webhook, struct outgoing *out)
{
	char *title = must_print("Told late: %zu alert%s, over by now", out->part_count,
				 out->part_count == 1 ? "" : "s");
	char *text = text_of(out);
	json_t *data = data_of(out);
	const struct message message = {
		.id = out->id,
		.type = "alert.summary",
		.time = out->created,
		.priority = TODAY,
		.enclosure = "",
		.title = title,
		.text = text,
		.data = data,
	};

	body_write(webhook, &message, out);
	json_decref(data);
	free(text);
	free(title);
}

bool summary_write(const struct waitings *waitings, size_t webhook, double now,
		   struct outgoing *out)
{
	const struct webhook *whose = &waitings->conf->webhooks[webhook];

	*out = (struct outgoing){ .created = now };
	for (size_t i = 0; i < waitings->count; i++) {
		const struct waiting *waiting = &waitings->list[i];
		struct outgoing message;

		if (waiting->webhook != webhook || waiting->busy || waiting->done ||
		    (!waiting->over && waiting->replaced_count == 0) ||
		    !waiting_read(waitings, waiting, &message))
			continue;
		if (out->replaced_count == 0)
			memcpy(out->alert, message.alert, sizeof out->alert);
		add(out, &message);
		outgoing_clear(&message);
	}
	if (out->part_count == 0) {
		outgoing_clear(out);
		return false;
	}
	alert_new_id("msg_", out->id);
	snprintf(out->webhook, sizeof out->webhook, "%s", whose->name);
	order(out);
	put_into_words(whose, out);
	return true;
}
