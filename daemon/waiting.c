/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What waits for its webhook; see waiting.h.
 */
#include "daemon/waiting.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/when.h"

static void hold_no_more(struct waiting *waiting)
{
	if (waiting->held)
		outgoing_clear(waiting->held);
	free(waiting->held);
	waiting->held = NULL;
}

static void waiting_clear(struct waiting *waiting)
{
	hold_no_more(waiting);
	free(waiting->name);
	free(waiting->parts);
	free(waiting->replaced);
}

void waitings_clear(struct waitings *waitings)
{
	for (size_t i = 0; i < waitings->count; i++)
		waiting_clear(&waitings->list[i]);
	for (size_t i = 0; i < SENT_NAMES; i++)
		free(waitings->sent[i]);
	free(waitings->list);
	waitings->list = NULL;
	waitings->count = 0;
}

/* Where a message of that name is in the list, or would be. */
static size_t place_of(const struct waitings *waitings, const char *name)
{
	size_t low = 0, high = waitings->count;

	while (low < high) {
		size_t middle = (low + high) / 2;

		if (strcmp(waitings->list[middle].name, name) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

struct waiting *waitings_find(const struct waitings *waitings, const char *name)
{
	size_t place = place_of(waitings, name);

	if (place < waitings->count && strcmp(waitings->list[place].name, name) == 0)
		return &waitings->list[place];
	return NULL;
}

static void take_out(struct waitings *waitings, struct waiting *waiting)
{
	struct waiting *end = waitings->list + waitings->count--;

	waiting_clear(waiting);
	memmove(waiting, waiting + 1, (size_t)(end - waiting - 1) * sizeof *waiting);
}

bool waiting_read(const struct waitings *waitings, const struct waiting *waiting,
		  struct outgoing *out)
{
	if (!waiting->held)
		return outbox_read(waitings->folder, waiting->name, out);
	char *text = outgoing_text(waiting->held);
	bool good = text && outgoing_from_text(text, strlen(text), out);

	free(text);
	return good;
}

/* Keeps of a message what has to be known of all of them. */
static void note(struct waitings *waitings, struct waiting *waiting)
{
	struct outgoing message;

	if (!waiting_read(waitings, waiting, &message))
		return; /* whoever wants to send it says why */
	free(waiting->parts);
	free(waiting->replaced);
	waiting->known = true;
	waiting->parts = message.parts;
	waiting->part_count = message.part_count;
	message.parts = NULL;
	waiting->replaced_count = message.replaced_count;
	waiting->replaced = must_calloc(message.replaced_count, sizeof *waiting->replaced);
	for (size_t i = 0; i < message.replaced_count; i++)
		memcpy(waiting->replaced[i], message.replaced[i].id, ALERT_ID);
	outgoing_clear(&message);
}

/* ---- done ------------------------------------------------------------------- */

static void remember_sent(struct waitings *waitings, const char *name)
{
	char **place = &waitings->sent[waitings->sent_next++ % SENT_NAMES];

	free(*place);
	*place = must_copy(name);
}

static bool was_sent(const struct waitings *waitings, const char *name)
{
	for (size_t i = 0; i < SENT_NAMES; i++)
		if (waitings->sent[i] && strcmp(waitings->sent[i], name) == 0)
			return true;
	return false;
}

void waitings_done(struct waitings *waitings, struct waiting *waiting)
{
	if (waiting->held)
		remember_sent(waitings, waiting->name);
	waiting->done = true;
	waiting->over = waiting->busy = false;
	waiting->rest_until = INFINITY;
	if (outbox_remove(waitings->folder, waiting->name)) {
		take_out(waitings, waiting);
		return;
	}
	if (!waiting->stuck)
		log_errno("%s cannot be taken out of the outbox", waiting->name);
	waiting->stuck = true;
}

static bool has_id(const struct waiting *waiting, const char *id)
{
	size_t length;
	const char *own = outbox_id(waiting->name, &length);

	return own && strlen(id) == length && strncmp(own, id, length) == 0;
}

/* Removes what this summary stands for.  What is on its way is let go: its
 * delivery, should it succeed, is told. */
static void replace(struct waitings *waitings, const struct waiting *summary)
{
	size_t webhook = summary->webhook, count = summary->replaced_count;
	char (*ids)[ALERT_ID] = must_calloc(count, sizeof *ids);

	memcpy(ids, summary->replaced, count * sizeof *ids);
	for (size_t i = 0; i < count; i++)
		for (size_t w = waitings->count; w-- > 0;) {
			struct waiting *waiting = &waitings->list[w];

			if (waiting->webhook == webhook && !waiting->busy && !waiting->done &&
			    has_id(waiting, ids[i]))
				waitings_done(waitings, waiting);
		}
	free(ids);
}

/* One summary after the other, each found again: the list changes. */
static void replace_all(struct waitings *waitings)
{
	for (size_t i = 0; i < waitings->count; i++) {
		if (waitings->list[i].replaced_count == 0 || waitings->list[i].done)
			continue;
		char *name = must_copy(waitings->list[i].name);

		replace(waitings, &waitings->list[i]);
		i = place_of(waitings, name);
		free(name);
	}
}

/* ---- looking ---------------------------------------------------------------- */

/* False when the webhook is not configured (any more). */
static bool find_webhook(const struct conf *conf, const char *name, size_t *webhook)
{
	size_t length;
	const char *wanted = outbox_webhook(name, &length);

	for (*webhook = 0; wanted && *webhook < conf->webhook_count; ++*webhook) {
		const char *own = conf->webhooks[*webhook].name;

		if (strlen(own) == length && strncmp(wanted, own, length) == 0)
			return true;
	}
	return false;
}

/* The webhook of this file is gone.  True when the file stays. */
static bool keep_orphan(const struct waitings *waitings, const char *name)
{
	size_t length;

	if (!outbox_webhook(name, &length) ||
	    when_wall() - outbox_created(name) < ORPHAN_SECONDS ||
	    !outbox_remove(waitings->folder, name))
		return true;
	log_warn("outbox: %s is removed: a day old, and its webhook is not configured", name);
	return false;
}

/* Says once how many there are. */
static void note_orphans(struct waitings *waitings, size_t count)
{
	if (count > waitings->orphans)
		log_warn("outbox: messages for webhooks that are not configured: %zu; they are sent "
			 "should one of that name come back, and removed when a day old", count);
	waitings->orphans = count;
}

/* Moves the entries of the old list that sort before the name and have no file
 * (any more) to the new one, if there is more of them than the file. */
static size_t carry_held(struct waitings *waitings, size_t *old, const char *name,
			 struct waiting *list, size_t kept)
{
	while (*old < waitings->count &&
	       (!name || strcmp(waitings->list[*old].name, name) < 0)) {
		if (waitings->list[*old].held)
			list[kept++] = waitings->list[*old];
		else
			waiting_clear(&waitings->list[*old]);
		++*old;
	}
	return kept;
}

/* The file's entry: the one it had, or a new one. */
static struct waiting entry_of(struct waitings *waitings, size_t *old, const char *name,
			       size_t webhook)
{
	if (*old < waitings->count && strcmp(waitings->list[*old].name, name) == 0) {
		struct waiting entry = waitings->list[(*old)++];

		hold_no_more(&entry); /* it is on disk now */
		return entry;
	}
	waitings->fresh = true;
	return (struct waiting){ .name = must_copy(name), .webhook = webhook,
				 .done = was_sent(waitings, name) };
}

/* Both lists are in order. */
static void merge(struct waitings *waitings, char **names, size_t count)
{
	struct waiting *list = must_calloc(count + waitings->count, sizeof *list);
	size_t kept = 0, old = 0, orphans = 0, webhook;

	for (size_t i = 0; i < count; i++) {
		kept = carry_held(waitings, &old, names[i], list, kept);
		if (!find_webhook(waitings->conf, names[i], &webhook))
			orphans += keep_orphan(waitings, names[i]);
		else
			list[kept++] = entry_of(waitings, &old, names[i], webhook);
	}
	kept = carry_held(waitings, &old, NULL, list, kept);
	free(waitings->list);
	waitings->list = list;
	waitings->count = kept;
	note_orphans(waitings, orphans);
}

void waitings_look(struct waitings *waitings)
{
	size_t count;
	char **names = outbox_list(waitings->folder, &count);

	if (log_changed(&waitings->blind, !names) && !names)
		log_errno("the outbox cannot be listed");
	if (names)
		merge(waitings, names, count);
	outbox_list_free(names, count);
	for (size_t i = waitings->count; i-- > 0;)
		if (waitings->list[i].done)
			waitings_done(waitings, &waitings->list[i]);
		else if (!waitings->list[i].known)
			note(waitings, &waitings->list[i]);
	replace_all(waitings);
}

void waitings_hold(struct waitings *waitings, struct outgoing *outgoing)
{
	struct waiting entry = { .name = outbox_name(outgoing) };
	size_t place = place_of(waitings, entry.name);

	if (!find_webhook(waitings->conf, entry.name, &entry.webhook) ||
	    waitings_find(waitings, entry.name) || was_sent(waitings, entry.name)) {
		outgoing_clear(outgoing);
		free(entry.name);
		return;
	}
	entry.held = must_calloc(1, sizeof *entry.held);
	*entry.held = *outgoing;
	*outgoing = (struct outgoing){ 0 };
	note(waitings, &entry);
	waitings->list = must_resize(waitings->list, waitings->count + 1, sizeof *waitings->list);
	memmove(waitings->list + place + 1, waitings->list + place,
		(waitings->count++ - place) * sizeof *waitings->list);
	waitings->list[place] = entry;
	waitings->fresh = true;
	replace_all(waitings);
}
