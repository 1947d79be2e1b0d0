/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Events of the flow; see flow_tell.h.
 */
#include "daemon/flow_tell.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool is_held(const struct live_enclosure *enclosure)
{
	return enclosure->shelved || enclosure->conf->out_of_service;
}

enum { BELIEVED_READINGS = 5 }; /* in a row outside, of a probe that is in doubt */

/* A probe that is told of as answering only now and then, and what it answers is
 * wild, is no witness by itself ... */
static bool is_wild(const struct flow *flow, const struct live_enclosure *enclosure,
		    enum place place, enum quantity quantity)
{
	size_t probe = enclosure->conf->places[place].probe;

	return enclosure->places[place].silence.stands &&
	       flow->probes[probe].gates[quantity].doubt >= DOUBTFUL;
}

/* ... unless it says the same again and again. */
static bool is_doubted(const struct flow *flow, const struct slot *slot)
{
	const struct live_series *series = slot->series;

	if (slot->kind != SLOT_SERIES)
		return false;
	bool wild = is_wild(flow, slot->enclosure, slot->place, series->fed) ||
		    (series->key.computed &&
		     (is_wild(flow, slot->enclosure, series->source, TEMPERATURE) ||
		      is_wild(flow, slot->enclosure, series->source, HUMIDITY)));

	return wild && series->judged.limits.readings < BELIEVED_READINGS &&
	       series->judged.band.readings < BELIEVED_READINGS;
}

/* The one of two quantities at a place that is silent; false when it is both
 * or none. */
static bool only_silent(const struct flow *flow, const struct slot *slot, enum quantity *only)
{
	size_t here = 0, silent = 0;

	for (size_t s = 0; s < slot->enclosure->count; s++) {
		const struct live_series *series = &slot->enclosure->series[s];

		if (series->key.place != slot->place || series->key.computed)
			continue;
		here++;
		if (is_silent(flow, series)) {
			silent++;
			*only = series->key.quantity;
		}
	}
	return silent > 0 && silent < here;
}

/* Where it is, and what is read there. */
static void fill_place(const struct flow *flow, const struct slot *slot,
		       struct alert_record *record)
{
	const struct judged *judged = NULL;

	record->has_place = slot->kind != SLOT_GRADIENT;
	record->place = slot->place;
	if (slot->kind == SLOT_SERIES) {
		record->has_quantity = true;
		record->quantity = slot->series->key.quantity;
		record->computed = slot->series->key.computed;
		judged = &slot->series->judged;
	} else if (slot->kind == SLOT_GRADIENT) {
		record->has_quantity = true;
		record->quantity = TEMPERATURE;
		judged = &slot->enclosure->gradient->judged;
	} else if (slot->kind == SLOT_DUE) {
		const struct live_series *series = due_series(slot->enclosure);

		record->has_quantity = true;
		record->quantity = HUMIDITY;
		judged = series ? &series->judged : NULL;
	} else if (slot->kind == SLOT_SILENCE) {
		record->has_quantity = only_silent(flow, slot, &record->quantity);
	}
	if (judged && judged->has_last) {
		record->has_value = true;
		record->value = judged->last.value;
	}
}

static struct alert_record record_of(const struct flow *flow, const struct slot *slot,
				     enum event event)
{
	const struct alert *alert = slot->alert;
	struct alert_record record = {
		.time = flow->now,
		.event = event,
		.has_condition = true,
		.condition = alert->condition,
		.has_priority = true,
		.priority = alert->priority,
		.has_since = true,
		.since = alert->since,
		.has_worst = alert->has_worst,
		.worst = alert->worst,
	};

	memcpy(record.id, alert->id, sizeof record.id);
	if (slot->enclosure) {
		strncpy(record.enclosure, slot->enclosure->conf->name, NAME_SIZE - 1);
		fill_place(flow, slot, &record);
		if (slot->kind == SLOT_DUE && event != CLEARED) {
			record.has_until = true;
			record.until = slot->enclosure->due->at;
		}
	}
	if (slot->kind == SLOT_WEBHOOK)
		strncpy(record.webhook, flow->conf->webhooks[slot->webhook].name, NAME_SIZE - 1);
	return record;
}

/* What the bus shows of the probe that is silent. */
static void fill_reason(const struct flow *flow, const struct slot *slot, char reason[REASON_TEXT])
{
	const struct place_conf *place = &slot->enclosure->conf->places[slot->place];
	char *text = place->watched ? flow_diagnose(flow, place->probe) : NULL;

	if (text)
		snprintf(reason, REASON_TEXT, "%s", text);
	free(text);
}

struct message_context context_of(struct flow *flow, const struct slot *slot)
{
	const struct alert *alert = slot->alert;
	struct message_context context = {
		.conf = flow->conf,
		.enclosure = slot->enclosure ? slot->enclosure->conf : NULL,
		.falling = alert->side == BELOW,
		.chattering = alert->chattering,
		.family = alert->heir,
		.family_since = alert->family_since,
		.acked = alert->life.acked,
		.gravest = alert->gravest,
		.reach = alert->life.reach,
		.beyond = -1,
	};

	if (!slot->enclosure)
		return context;
	if (slot->kind == SLOT_SERIES) {
		context.has_band = flow_band(flow, slot->series, flow->now, &context.band);
		context.by_allowance = slot->series->judged.band.by_allowance;
	} else if (slot->kind == SLOT_GRADIENT) {
		context.has_band = true;
		context.band = slot->enclosure->gradient->rule.day;
	} else if (slot->kind == SLOT_DUE) {
		const struct live_series *series = due_series(slot->enclosure);

		context.has_band = series && flow_band(flow, series, flow->now, &context.band);
		context.edge = slot->enclosure->due->edge;
	} else if (slot->kind == SLOT_SILENCE) {
		context.patchy = is_patchy(flow, slot->enclosure, slot->place);
		fill_reason(flow, slot, context.reason);
	}
	return context;
}

void record_sign(struct alert_record *record, const struct asking *asking)
{
	memcpy(record->by, asking->by, sizeof record->by);
	memcpy(record->note, asking->note, sizeof record->note);
}

static void emit(struct flow *flow, struct alert_record *record,
		 const struct message_context *message)
{
	flow->sink.event(flow->sink.context, record, message);
}

void tell_event(struct flow *flow, const struct slot *slot, enum event event,
		const struct asking *more, struct message_context *message)
{
	struct alert_record record = record_of(flow, slot, event);

	message->told = event;
	if (more)
		record_sign(&record, more);
	emit(flow, &record, message);
}

void tell_slot(struct flow *flow, const struct slot *slot, const struct wanted *wanted)
{
	struct wanted held = *wanted;
	enum event event;

	if (slot->enclosure && (is_held(slot->enclosure) || is_doubted(flow, slot)))
		held.due = false;
	while (alert_step(slot->alert, &held, flow->now, &event)) {
		struct alert_record record = record_of(flow, slot, event);
		struct message_context message = context_of(flow, slot);
		struct room_view view = { 0 };

		if (event == CLEARED) {
			record.has_until = true;
			/* A rule that is gone does not know since when it is over. */
			record.until = wanted->over >= record.since ? wanted->over : flow->now;
		}
		message.told = event;
		/* Whoever has misted need not be told so. */
		message.quiet = event == CLEARED && slot->kind == SLOT_DUE;
		flow->standing = true;
		if (slot->kind == SLOT_SERIES)
			matter_consider(flow, slot, event, &message, &view);
		if (!message.room && !message.joins)
			follow_consider(slot, event, &message);
		emit(flow, &record, &message);
		free(view.list);
	}
}

void tell_series(struct flow *flow, struct live_enclosure *enclosure,
		 struct live_series *series)
{
	const struct judged *judged = &series->judged;

	if (!series->alert.stands && !judged->band.due && !judged->limits.due &&
	    !judged->runaway.due)
		return; /* as nearly always */
	struct wanted wanted = wanted_of_series(judged, series->key.quantity);
	const struct slot slot = series_slot(enclosure, series);

	tell_slot(flow, &slot, &wanted);
}

static void end_slot(void *context, const struct slot *slot)
{
	struct flow *flow = context;

	if (!slot->alert->stands)
		return;
	struct alert_record record;
	struct message_context message = context_of(flow, slot);

	slot->alert->stands = false;
	record = record_of(flow, slot, CLEARED);
	record.has_until = true;
	record.until = flow->now;
	message.quiet = true;
	emit(flow, &record, &message);
}

void tell_all_over(struct flow *flow, struct live_enclosure *enclosure)
{
	each_slot_of(enclosure, end_slot, flow);
}

void tell_due_over(struct flow *flow, struct live_enclosure *enclosure)
{
	const struct slot slot = due_slot(enclosure);

	end_slot(flow, &slot);
}

void tell_webhook_over(struct flow *flow, size_t webhook)
{
	const struct slot slot = webhook_slot(flow, webhook);

	end_slot(flow, &slot);
}

void flow_trouble(struct flow *flow, enum condition condition, bool on, double since)
{
	struct wanted wanted = wanted_of_upkeep(on, condition, since, flow->now);
	const struct slot slot = trouble_slot(flow, condition);

	tell_slot(flow, &slot, &wanted);
}

void flow_webhook_trouble(struct flow *flow, size_t webhook, bool on, double since)
{
	struct wanted wanted = wanted_of_upkeep(on, DELIVERY, since, flow->now);
	const struct slot slot = webhook_slot(flow, webhook);

	tell_slot(flow, &slot, &wanted);
}

void flow_archive_damaged(struct flow *flow, size_t enclosure)
{
	struct alert alert = { 0 };
	const struct slot slot = {
		.kind = SLOT_TROUBLE, .alert = &alert, .trouble = ARCHIVE,
		.enclosure = &flow->enclosures[enclosure],
	};
	struct wanted wanted = wanted_of_upkeep(true, ARCHIVE, flow->now, flow->now);
	enum event event;

	while (alert_step(&alert, &wanted, flow->now, &event)) {
		struct alert_record record = record_of(flow, &slot, event);
		struct message_context message = context_of(flow, &slot);

		record.has_place = record.has_quantity = false;
		/* It is mended already, as has just been told. */
		message.quiet = event == CLEARED;
		record.has_until = message.quiet;
		record.until = flow->now;
		emit(flow, &record, &message);
		wanted.due = wanted.lasts = false;
	}
}
