/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Events of the flow; see flow_tell.h.
 */
#include "daemon/flow_tell.h"

#include <string.h>

static void emit(struct flow *flow, struct alert_record *record,
		 const struct message_context *message)
{
	record->time = flow->now;
	flow->sink.event(flow->sink.context, record, message);
}

static struct alert_record record_of(const struct alert *alert, enum event event,
				     const struct enclosure *enclosure)
{
	struct alert_record record = {
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
	if (enclosure)
		strncpy(record.enclosure, enclosure->name, sizeof record.enclosure - 1);
	return record;
}

void tell_series(struct flow *flow, struct live_enclosure *enclosure,
			struct live_series *series)
{
	struct wanted wanted = wanted_of_series(&series->judged, series->key.quantity);
	enum event event;

	while (alert_step(&series->alert, &wanted, &event)) {
		struct alert_record record = record_of(&series->alert, event, enclosure->conf);
		struct message_context message = {
			.conf = flow->conf,
			.enclosure = enclosure->conf,
			.over = wanted.over,
		};

		record.has_place = record.has_quantity = true;
		record.place = series->key.place;
		record.quantity = series->key.quantity;
		record.has_value = series->judged.has_last;
		record.value = series->judged.last.value;
		message.has_band = flow_band(flow, series, flow->now, &message.band);
		emit(flow, &record, &message);
	}
}

void tell_silence(struct flow *flow, struct live_enclosure *enclosure, enum place place,
			 const struct wanted *wanted, bool whole, const enum quantity *only)
{
	struct live_place *at = &enclosure->places[place];
	enum event event;

	while (alert_step(&at->silence, wanted, &event)) {
		struct alert_record record = record_of(&at->silence, event, enclosure->conf);
		struct message_context message = {
			.conf = flow->conf,
			.enclosure = enclosure->conf,
			.over = wanted->over,
			.whole_enclosure = whole,
		};

		record.has_place = true;
		record.place = place;
		record.has_quantity = only != NULL;
		if (only)
			record.quantity = *only;
		emit(flow, &record, &message);
	}
}

void tell_all_over(struct flow *flow, struct live_enclosure *enclosure)
{
	struct wanted nothing = { .over = flow->now };

	for (size_t s = 0; s < enclosure->count; s++) {
		struct live_series *series = &enclosure->series[s];

		series->judged.band = series->judged.limits =
			(struct episode){ .back_since = flow->now };
		tell_series(flow, enclosure, series);
	}
	for (int p = 0; p < PLACES; p++)
		tell_silence(flow, enclosure, (enum place)p, &nothing, false, NULL);
}

void flow_trouble(struct flow *flow, enum condition condition, bool on, double since)
{
	struct alert *alert = condition == CLOCK ? &flow->clock : &flow->archive;
	struct wanted wanted = wanted_of_upkeep(on, condition, since, flow->now);
	enum event event;

	while (alert_step(alert, &wanted, &event)) {
		struct alert_record record = record_of(alert, event, NULL);
		struct message_context message = { .conf = flow->conf, .over = flow->now };

		emit(flow, &record, &message);
	}
}

void flow_archive_damaged(struct flow *flow, size_t enclosure)
{
	const struct enclosure *whose = &flow->conf->enclosures[enclosure];
	struct wanted wanted = wanted_of_upkeep(true, ARCHIVE, flow->now, flow->now);
	struct message_context message = { .conf = flow->conf, .enclosure = whose,
					   .over = flow->now };
	struct alert alert = { 0 };
	enum event event;

	while (alert_step(&alert, &wanted, &event)) {
		struct alert_record record = record_of(&alert, event, whose);

		emit(flow, &record, &message);
		wanted.due = wanted.lasts = false; /* it is mended already, ... */
		message.quiet = true;              /* ... as has just been told */
	}
}
