/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands, on its way back in; see standing.h.
 */
#include <math.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/words.h"
#include "daemon/flow_tell.h"
#include "daemon/standing.h"
#include "daemon/standing_numbers.h"

static void to_life(json_t *object, struct life *life)
{
	struct life kept = { 0 };
	int reminded;

	if (json_unpack(object, "{s:i,s:F,s:F,s:i,s:F}", "told", &kept.told, "from", &kept.from,
			"next", &kept.next, "reminded", &reminded, "reach", &kept.reach) != 0 ||
	    kept.told < 0 || kept.told > life_grade(NOW, true))
		return;
	kept.reminded = reminded > 0 ? (unsigned)reminded : 0;
	kept.acked = json_unpack(object, "{s:F}", "acked", &kept.acked_at) == 0;
	kept.eased = json_unpack(object, "{s:F}", "eased", &kept.eased_since) == 0;
	*life = kept;
}

static enum side side_of_condition(enum condition condition)
{
	if (condition == BELOW_BAND || condition == BELOW_LIMITS)
		return BELOW;
	return condition == ABOVE_BAND || condition == ABOVE_LIMITS ? ABOVE : INSIDE;
}

/* The members every version has written. */
static bool to_alert_core(const json_t *object, struct alert *alert)
{
	/* The alert log's reader knows the words already. */
	struct alert_record record;
	json_t *copy = json_copy((json_t *)object);

	json_object_set_new(copy, "time", json_integer(0));
	json_object_set_new(copy, "event", json_string(event_word(RAISED)));
	bool good = alert_from_json(copy, &record) && record.has_condition &&
		    record.has_priority && record.has_since;

	json_decref(copy);
	if (!good)
		return false;
	alert->stands = true;
	alert->condition = record.condition;
	alert->side = side_of_condition(record.condition);
	alert->priority = alert->gravest = record.priority;
	alert->since = record.since;
	alert->has_worst = record.has_worst;
	alert->worst = record.worst;
	memcpy(alert->id, record.id, sizeof alert->id);
	return true;
}

static bool to_alert(json_t *object, struct alert *alert, double now)
{
	struct alert kept = { 0 };
	const char *gravest;
	int side, chattering, joined;

	if (!to_alert_core(object, &kept))
		return false;
	life_begin(&kept.life, alert_grade(&kept), now); /* unless it says more */
	if (json_unpack(object, "{s:i,s:s,s:b,s:i}", "side", &side, "gravest", &gravest,
			"chattering", &chattering, "joined", &joined) == 0 &&
	    side >= INSIDE && side <= ABOVE && joined >= ALONE && joined <= WITH_ROOM) {
		kept.side = (enum side)side;
		kept.chattering = chattering != 0;
		kept.joined = (enum joined)joined;
		priority_from_word(gravest, &kept.gravest);
		to_life(json_object_get(object, "life"), &kept.life);
	}
	kept.heir = json_unpack(object, "{s:F}", "heir_since", &kept.family_since) == 0;
	*alert = kept;
	return true;
}

static void to_raises(const json_t *list, struct alert *alert)
{
	for (size_t i = 0; i < CHATTER_RAISES && i < json_array_size(list); i++)
		alert->raises[i] = json_number_value(json_array_get(list, i));
}

static void to_episode(json_t *object, struct episode *episode)
{
	struct episode kept = { 0 };
	const char *side;
	int due;

	if (json_unpack(object, "{s:s,s:F,s:F,s:F,s:i,s:b}", "side", &side, "since", &kept.since,
			"outside", &kept.outside, "worst", &kept.worst, "readings",
			&kept.readings, "due", &due) != 0)
		return;
	kept.side = strcmp(side, "below") == 0 ? BELOW : ABOVE;
	kept.due = due != 0;
	kept.returning = json_unpack(object, "{s:F}", "back_since", &kept.back_since) == 0;
	kept.out = json_unpack(object, "{s:F}", "out_since", &kept.out_since) == 0;
	kept.by_allowance = json_is_true(json_object_get(object, "by_allowance"));
	*episode = kept;
}

static void to_runaway(json_t *object, struct runaway *runaway)
{
	struct runaway kept = { 0 };
	int side, due;

	if (json_unpack(object, "{s:i,s:F,s:b}", "side", &side, "since", &kept.since, "due",
			&due) != 0 ||
	    (side != BELOW && side != ABOVE))
		return;
	kept.side = (enum side)side;
	kept.due = due != 0;
	kept.returning = json_unpack(object, "{s:F}", "back_since", &kept.back_since) == 0;
	*runaway = kept;
}

static void to_allowance(const json_t *list, struct judged *judged)
{
	if (!list)
		return;
	if (!judged->allowance)
		judged->allowance = must_calloc(1, sizeof *judged->allowance);
	allowance_from_json(list, judged->allowance);
}

static void to_judged(json_t *object, struct judged *judged)
{
	double time, value;

	to_episode(json_object_get(object, "band"), &judged->band);
	to_episode(json_object_get(object, "limits"), &judged->limits);
	json_unpack(object, "{s?F}", "over", &judged->band.back_since);
	to_runaway(json_object_get(object, "runaway"), &judged->runaway);
	to_allowance(json_object_get(object, "allowance"), judged);
	if (json_unpack(object, "{s:[F,F]}", "last", &time, &value) == 0) {
		judged->last = (struct sample){ time, value };
		judged->has_last = true;
	}
}

/* ---- which slot ------------------------------------------------------------ */

/* Where an entry belongs. */
struct search {
	const struct flow *flow;
	const char *slot, *enclosure, *place, *quantity, *condition, *webhook;
	bool found;
	struct slot at;
};

static bool says(const char *kept, const char *here)
{
	return kept && strcmp(kept, here) == 0;
}

/* Whether it is that of its enclosure, and told still. */
static bool is_of_enclosure(const struct search *search, const struct slot *slot)
{
	const struct enclosure *enclosure = slot->enclosure->conf;

	if (!says(search->enclosure, enclosure->name))
		return false;
	if (slot->kind == SLOT_DUE) /* of which nobody says yet where */
		return enclosure->misting_due > 0;
	if (!says(search->place, place_word(slot->place)))
		return false;
	/* Or its probe is gone. */
	return (slot->kind != SLOT_SILENCE && slot->kind != SLOT_FROZEN) ||
	       enclosure->places[slot->place].watched;
}

static void look_at(void *context, const struct slot *slot)
{
	struct search *search = context;

	if (search->found || !says(search->slot, slot_word(slot->kind)))
		return;
	if (slot->enclosure && !is_of_enclosure(search, slot))
		return;
	if (slot->kind == SLOT_SERIES &&
	    !says(search->quantity, quantity_word(slot->series->key.quantity)))
		return;
	if (slot->kind == SLOT_TROUBLE && !says(search->condition, condition_word(slot->trouble)))
		return;
	if (slot->kind == SLOT_WEBHOOK &&
	    !says(search->webhook, search->flow->conf->webhooks[slot->webhook].name))
		return;
	search->found = true;
	search->at = *slot;
}

static bool find_slot(struct flow *flow, json_t *entry, struct slot *slot)
{
	struct search search = { .flow = flow, .slot = "series" };

	json_unpack(entry, "{s?s,s?s,s?s,s?s,s?s,s?s}", "slot", &search.slot, "enclosure",
		    &search.enclosure, "place", &search.place, "quantity", &search.quantity,
		    "condition", &search.condition, "webhook", &search.webhook);
	each_slot(flow, look_at, &search);
	*slot = search.at;
	return search.found;
}

/* An alert that no slot takes any more, because its enclosure, place or webhook
 * is gone from the configuration, is over: logged, not told. */
static void clear_orphan(struct flow *flow, json_t *entry)
{
	const struct message_context message = { .conf = flow->conf, .quiet = true };
	json_t *kept = json_object_get(entry, "alert");
	struct alert_record record;

	if (!json_is_object(kept))
		return;
	json_object_update_missing(kept, entry); /* where it was */
	json_object_set_new(kept, "time", json_real(flow->now));
	json_object_set_new(kept, "until", json_real(flow->now));
	json_object_set_new(kept, "event", json_string(event_word(CLEARED)));
	if (alert_from_json(kept, &record))
		flow->sink.event(flow->sink.context, &record, &message);
}

/* As version 0.1 wrote them: a place's silence, and the tool's own trouble. */
static void from_first_version(json_t *whole, json_t *list)
{
	static const char *const troubles[] = { "clock", "archive" };
	json_t *entry;
	size_t index;

	json_array_foreach(list, index, entry) {
		json_t *silence = json_object_get(entry, "silence");

		if (!silence)
			continue;
		json_object_set(entry, "alert", silence);
		json_object_set_new(entry, "slot", json_string(slot_word(SLOT_SILENCE)));
	}
	for (size_t i = 0; i < sizeof troubles / sizeof *troubles; i++) {
		json_t *alert = json_object_get(whole, troubles[i]);

		if (alert)
			json_array_append_new(list, json_pack("{s:s,s:s,s:O}", "slot",
							      slot_word(SLOT_TROUBLE), "condition",
							      troubles[i], "alert", alert));
	}
}

/* What was known of a silent place before the restart is not known any more:
 * it has to show again that it is steady. */
static void doubt_place(struct flow *flow, const struct slot *slot)
{
	for (size_t s = 0; s < slot->enclosure->count; s++) {
		const struct live_series *series = &slot->enclosure->series[s];

		if (series->key.place == slot->place)
			coverage_doubt(&flow->probes[series->probe].coverage[series->key.quantity]);
	}
}

/* A probe that was frozen is frozen until it gives something else. */
static void to_repeat(struct flow *flow, const struct slot *slot, const json_t *object)
{
	struct live_probe *probe =
		&flow->probes[slot->enclosure->conf->places[slot->place].probe];
	const json_t *since = json_object_get(object, "since");

	if (!json_is_number(since))
		return;
	probe->frozen = true;
	probe->repeat = (struct repeat){ .begun = true, .since = json_number_value(since) };
	for (int q = 0; q < QUANTITIES; q++) {
		const json_t *value = json_object_get(object, quantity_word((enum quantity)q));

		probe->repeat.has[q] = json_is_number(value);
		probe->repeat.value[q] = json_number_value(value);
	}
}

static void to_due(json_t *entry, struct live_due *due)
{
	const char *place;

	if (json_unpack(entry, "{s:s,s:F}", "place", &place, "at", &due->at) == 0)
		place_from_word(place, &due->place);
}

static void restore_entry(struct flow *flow, json_t *entry, double passed)
{
	struct slot slot;
	double heard;

	if (!find_slot(flow, entry, &slot)) {
		clear_orphan(flow, entry);
		return;
	}
	to_alert(json_object_get(entry, "alert"), slot.alert, flow->now);
	slot_mend_joined(&slot);
	to_raises(json_object_get(entry, "raises"), slot.alert);
	if (slot.kind == SLOT_SILENCE)
		slot.enclosure->places[slot.place].patchy =
			json_is_true(json_object_get(entry, "patchy"));
	if (slot.kind == SLOT_SILENCE && slot.alert->stands)
		doubt_place(flow, &slot);
	if (slot.kind == SLOT_FROZEN)
		to_repeat(flow, &slot, json_object_get(entry, "repeat"));
	if (slot.kind == SLOT_DUE)
		to_due(entry, slot.enclosure->due);
	if (slot.kind == SLOT_GRADIENT)
		to_judged(entry, &slot.enclosure->gradient->judged);
	if (slot.kind != SLOT_SERIES)
		return;
	to_judged(entry, &slot.series->judged);
	if (json_unpack(entry, "{s:F}", "heard", &heard) == 0)
		slot.series->heard = heard + passed;
}

static void restore_matters(struct flow *flow, json_t *list)
{
	json_t *entry;
	size_t index;

	json_array_foreach(list, index, entry) {
		struct matter kept = { .on = true };
		const char *word, *priority;
		int side, most;
		enum quantity quantity;

		if (json_unpack(entry, "{s:s,s:i,s:F,s:F,s:s,s:i,s:F}", "quantity", &word, "side",
				&side, "since", &kept.since, "wide", &kept.wide, "priority",
				&priority, "most", &most, "cleared", &kept.cleared) != 0 ||
		    !quantity_from_word(word, &quantity) || side < 1 || side > SIDES ||
		    !priority_from_word(priority, &kept.gravest))
			continue;
		kept.most = most > 0 ? (size_t)most : 0;
		to_life(json_object_get(entry, "life"), &kept.life);
		flow->matters[quantity][side - 1] = kept;
	}
}

static void restore_shelving(struct flow *flow, json_t *list)
{
	json_t *entry;
	size_t index;

	json_array_foreach(list, index, entry) {
		const char *name;
		double until;

		if (json_unpack(entry, "{s:s,s:F}", "enclosure", &name, "until", &until) != 0 ||
		    until - flow->now > SHELVE_MOST)
			continue;
		struct live_enclosure *enclosure = flow_enclosure(flow, name);

		if (!enclosure)
			continue;
		enclosure->shelved = true;
		enclosure->shelved_until = until;
	}
}

static void mind_service(struct flow *flow)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++)
		if (flow->conf->enclosures[e].out_of_service)
			tell_all_over(flow, &flow->enclosures[e]);
}

bool standing_restore(struct flow *flow, json_t *whole)
{
	json_t *list = json_object_get(whole, "standing"), *entry;
	double saved = flow->now, behind;
	size_t index;

	if (!json_is_array(list))
		return false;
	standing_numbers_mend(whole);
	json_unpack(whole, "{s?F}", "time", &saved);
	behind = fmax(saved - flow->now, 0);
	if (behind > 0)
		flow_shift(flow, behind);
	from_first_version(whole, list);
	json_array_foreach(list, index, entry)
		restore_entry(flow, entry, fmax(flow->now - saved, 0));
	restore_matters(flow, json_object_get(whole, "matters"));
	restore_shelving(flow, json_object_get(whole, "shelved"));
	json_unpack(whole, "{s?F}", "tested", &flow->tested);
	/* Of a quiet room no time is kept: then this says that the clock is not set. */
	flow->tested = fmin(flow->tested, flow->now);
	mind_service(flow);
	if (behind > 0)
		flow_shift(flow, -behind);
	return true;
}
