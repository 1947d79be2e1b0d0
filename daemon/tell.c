/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From event to alert log and messages; see tell.h.
 */
#include "daemon/tell.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/daypart.h"
#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/alertfile.h"
#include "daemon/files.h"
#include "daemon/tell_print.h"

bool teller_open(struct teller *teller, const struct conf *conf, bool post)
{
	char *log = state_path(conf->state, ALERTS_FILE);

	*teller = (struct teller){ .conf = conf, .post = post };
	teller->outbox = state_path(conf->state, OUTBOX_FOLDER);
	teller->log = alertfile_open(log);
	bool good = teller->log >= 0;

	if (!good)
		log_errno("%s cannot be opened", log);
	/* The daemon's alone: headers may hold secrets. */
	if (!folder_make(teller->outbox, 0700)) {
		log_errno("%s cannot be made", teller->outbox);
		good = false;
	}
	outbox_tidy(teller->outbox);
	free(log);
	return good;
}

void teller_close(struct teller *teller)
{
	if (teller->log >= 0)
		close(teller->log);
	free(teller->outbox);
	free(teller->unlogged);
	free(teller->closing);
	gathering_clear(&teller->gathering);
	gathering_clear(&teller->test);
	*teller = (struct teller){ .log = -1 };
}

/* ---- flood ----------------------------------------------------------------- */

/* How many alerts were raised within FLOOD_SECONDS; 0 when they are no flood. */
static size_t flood(const struct teller *teller, double now)
{
	size_t count = 0;

	for (size_t i = 0; i < FLOOD_KNOWN; i++)
		count += teller->raises[i] != 0 && now - teller->raises[i] <= FLOOD_SECONDS;
	return count > FLOOD_ALERTS ? count : 0;
}

static void note_raise(struct teller *teller, double now)
{
	teller->raises[teller->next_raise] = now;
	teller->next_raise = (teller->next_raise + 1) % FLOOD_KNOWN;
}

/* ---- taking ---------------------------------------------------------------- */

/* Acknowledging, shelving and delivery are logged, not posted. */
static bool is_posted(enum event event)
{
	return event == RAISED || event == WORSENED || event == REMINDED || event == TESTED ||
	       event == CLEARED;
}

/* When an item is to go at the latest. */
static double closing_time(const struct teller *teller, const struct item *item)
{
	const struct conf *conf = teller->conf;
	double now = item->record.time, close = now + conf->gather;

	if (item->record.event == TESTED)
		return now;
	if (item->record.condition == SILENT)
		close = now + SILENT_GATHER * conf->gather;
	if (item->priority == NOW)
		return close;
	if (flood(teller, now))
		close = fmax(close, now + FLOOD_GATHER);
	if (!conf->has_quiet)
		return close;
	/* Quiet hours are a "day" of their own. */
	struct daypart_span span = daypart_at(&conf->quiet, close);

	return span.part == DAY ? span.until : close;
}

/* Is there anybody to tell?  Printing tells always. */
static bool has_reader(const struct teller *teller, const struct item *item)
{
	for (size_t w = 0; w < teller->conf->webhook_count; w++)
		if (item_is_for(item, teller->conf, w))
			return true;
	return !teller->post;
}

static void closing_remove(struct teller *teller, size_t index)
{
	struct item *at = &teller->closing[index];

	memmove(at, at + 1, (--teller->closing_count - index) * sizeof *at);
}

static void closing_add(struct teller *teller, const struct item *item)
{
	if (teller->closing_count == CLOSING_MOST)
		closing_remove(teller, 0);
	teller->closing = must_resize(teller->closing, teller->closing_count + 1,
				      sizeof *teller->closing);
	teller->closing[teller->closing_count++] = *item;
}

/* Whether the end of one belongs to the matter that another tells of. */
static bool closes(const struct item *matter, const struct item *item)
{
	if (item->room != matter->room)
		return false;
	if (item->room)
		return item->side == matter->side &&
		       item->record.quantity == matter->record.quantity;
	return strcmp(item->record.enclosure, matter->record.enclosure) == 0;
}

static void take_closing(struct teller *teller, const struct item *matter)
{
	for (size_t i = teller->closing_count; i-- > 0;) {
		struct item item = teller->closing[i];

		if (!closes(matter, &item))
			continue;
		gathering_add(&teller->gathering, &item, INFINITY);
		closing_remove(teller, i);
	}
}

/* True when it is told by a message that is still to go; else its end is
 * remembered, and nothing more. */
static bool join(struct teller *teller, struct item *item, const char *follows)
{
	item->room = follows == NULL;
	if (follows ? gathering_tells(&teller->gathering, follows)
		    : gathering_has_room(&teller->gathering, item->record.quantity, item->side))
		return true;
	if (item->event == CLEARED)
		closing_add(teller, item);
	return false;
}

static void gather(struct teller *teller, struct alert_record *record,
		   const struct message_context *context)
{
	struct gathering *gathering = record->event == TESTED ? &teller->test
							       : &teller->gathering;
	const struct room_view *room = context->room;
	struct item item = {
		.record = *record,
		.event = context->told,
		.priority = context->gravest,
		.reach = context->reach,
		.beyond = context->beyond,
		.room = room != NULL,
		.side = room ? room->side : context->falling ? BELOW : ABOVE,
		.joins = context->joins,
	};

	if (context->joins && !join(teller, &item, context->follows))
		return; /* its message has gone */
	if (!has_reader(teller, &item))
		return;
	if (!context->joins) {
		item.title = message_title(record, context);
		item.text = message_text(record, context);
	}
	gathering_add(gathering, &item, context->joins ? INFINITY : closing_time(teller, &item));
	if (!context->joins && (item.event == CLEARED || (room && room->left)))
		take_closing(teller, &item);
	snprintf(record->message, sizeof record->message, "%s", gathering->id);
}

static void unlogged_add(struct teller *teller, const struct alert_record *record)
{
	if (teller->unlogged_count == UNLOGGED_MOST) {
		if (teller->dropped++ == 0)
			log_error("the alert log cannot be written for so long that its oldest "
				  "records are lost");
		memmove(teller->unlogged, teller->unlogged + 1,
			--teller->unlogged_count * sizeof *teller->unlogged);
	}
	teller->unlogged = must_resize(teller->unlogged, teller->unlogged_count + 1,
				       sizeof *teller->unlogged);
	teller->unlogged[teller->unlogged_count++] = *record;
}

void teller_take(struct teller *teller, struct alert_record *record,
		 const struct message_context *context)
{
	bool posted = is_posted(record->event) && !context->quiet;

	if (context->joins)
		snprintf(record->joins, sizeof record->joins, "%s",
			 context->follows ? context->follows : "room");
	/* Those that join a matter of the room are no flood of messages, and reminders of
	 * mistings none of alerts. */
	if (posted && record->event == RAISED && !context->joins &&
	    record->condition != MISTING_DUE)
		note_raise(teller, record->time);
	/* Nobody is told that it is over: nor that it was to come. */
	if (record->event == CLEARED && record->condition == MISTING_DUE)
		gathering_drop(&teller->gathering, record->id);
	if (posted)
		gather(teller, record, context);
	if (!teller->post)
		record->message[0] = '\0'; /* printing has no webhook-id */
	unlogged_add(teller, record);
	teller->fresh = true;
}

/* ---- logging --------------------------------------------------------------- */

void teller_log(struct teller *teller)
{
	teller->fresh = false;
	if (teller->unlogged_count == 0 || teller->log < 0)
		return; /* nothing to log, or the state folder is away */
	bool failing = !alertfile_append(teller->log, teller->unlogged, teller->unlogged_count);

	if (log_changed(&teller->log_failing, failing)) {
		if (failing)
			log_errno("the alert log cannot be written; it waits in memory");
		else
			log_info("the alert log is written again");
	}
	if (!failing)
		teller->unlogged_count = 0;
}

void teller_delivered(struct teller *teller, const struct courier_result *result, double now)
{
	struct alert_record record = { .time = now, .event = DELIVERED };

	memcpy(record.id, result->alert, sizeof record.id);
	memcpy(record.message, result->message, sizeof record.message);
	memcpy(record.webhook, result->webhook, sizeof record.webhook);
	log_info("webhook \"%s\" took message %s", result->webhook, result->message);
	unlogged_add(teller, &record);
	teller_log(teller);
}

/* ---- sending --------------------------------------------------------------- */

static void post(struct teller *teller, const struct gathering *gathering, double now)
{
	const double created = outbox_after_all(teller->outbox, now);

	for (size_t w = 0; w < teller->conf->webhook_count; w++) {
		struct outgoing outgoing;

		if (!gathering_write(gathering, teller->conf, w, flood(teller, now), &outgoing))
			continue;
		outgoing.created = created;
		outgoing.number = teller->told;
		log_info("for webhook \"%s\": %s", teller->conf->webhooks[w].name, outgoing.title);
		postbox_send(teller->postbox, &outgoing);
	}
}

static void send_gathering(struct teller *teller, struct gathering *gathering, double now)
{
	if (teller->post)
		post(teller, gathering, now);
	else
		tell_print(gathering, teller->conf, flood(teller, now), now);
	teller->told++;
	gathering_clear(gathering);
}

/* A gathering from a future farther off than any quiet hours' end was opened
 * before the clock fell back: a start before the time is known. */
static bool is_due(const struct gathering *gathering, double now)
{
	return now >= gathering->close || gathering->close - now > GATHER_MOST;
}

bool teller_send(struct teller *teller, double now)
{
	bool sent = false;

	if (teller->test.open) {
		send_gathering(teller, &teller->test, now);
		sent = true;
	}
	if (teller->gathering.open && is_due(&teller->gathering, now)) {
		/* A rehearsal's clock steps by minutes; what it prints is when it would be. */
		send_gathering(teller, &teller->gathering,
			       teller->post ? now : teller->gathering.close);
		sent = true;
	}
	return sent;
}

bool teller_send_all(struct teller *teller)
{
	return teller_send(teller, teller->gathering.open ? teller->gathering.close : 0);
}

void teller_shift(struct teller *teller, double by)
{
	teller->gathering.close += fmin(by, 0);
	for (size_t i = 0; i < FLOOD_KNOWN; i++)
		teller->raises[i] += teller->raises[i] != 0 ? by : 0;
}

/* ---- over a restart -------------------------------------------------------- */

/* Only what can still be part of a flood, so that it does not pile up. */
static json_t *keep_raises(const struct teller *teller)
{
	json_t *list = json_array();
	double last = teller->raises[(teller->next_raise + FLOOD_KNOWN - 1) % FLOOD_KNOWN];

	for (size_t i = 0; i < FLOOD_KNOWN; i++) {
		double raised = teller->raises[(teller->next_raise + i) % FLOOD_KNOWN];

		if (raised != 0 && last - raised <= FLOOD_SECONDS)
			json_array_append_new(list, json_real(raised));
	}
	return list;
}

/* Adds a list or an object that is worth keeping; NULL and an empty list are
 * not. */
static void add(json_t *whole, const char *key, json_t *member)
{
	if (member && (!json_is_array(member) || json_array_size(member) > 0))
		json_object_set(whole, key, member);
	json_decref(member);
}

void teller_keep(const struct teller *teller, json_t *whole)
{
	json_t *unlogged = json_array(), *closing = json_array();

	for (size_t i = 0; i < teller->unlogged_count; i++)
		json_array_append_new(unlogged, alert_to_json(&teller->unlogged[i]));
	for (size_t i = 0; i < teller->closing_count; i++)
		json_array_append_new(closing, item_to_json(&teller->closing[i]));
	add(whole, "unlogged", unlogged);
	add(whole, "closing", closing);
	add(whole, "raises", keep_raises(teller));
	add(whole, "gathering", gathering_to_json(&teller->gathering));
	add(whole, "test", gathering_to_json(&teller->test));
}

void teller_restore(struct teller *teller, const json_t *whole)
{
	json_t *entry;
	size_t index;

	json_array_foreach(json_object_get(whole, "unlogged"), index, entry) {
		struct alert_record record;

		if (alert_from_json(entry, &record) && !alertfile_holds(teller->log, &record))
			unlogged_add(teller, &record);
	}
	json_array_foreach(json_object_get(whole, "closing"), index, entry) {
		struct item item;

		if (item_from_json(entry, &item))
			closing_add(teller, &item);
	}
	json_array_foreach(json_object_get(whole, "raises"), index, entry)
		note_raise(teller, json_number_value(entry));
	gathering_from_json(json_object_get(whole, "gathering"), &teller->gathering);
	gathering_from_json(json_object_get(whole, "test"), &teller->test);
	teller_log(teller);
}
