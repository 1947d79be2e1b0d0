/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands, on its way out to disk; see standing.h.
 */
#include "daemon/standing.h"

#include <math.h>

#include "conf/words.h"
#include "daemon/slot.h"

enum { QUIET_SILENCE = 30 }; /* s unheard, beyond a poll, that are worth keeping */

/* Adds a member that is worth keeping; NULL is not. */
static bool add(json_t *object, const char *key, json_t *member)
{
	return member && json_object_set_new(object, key, member) == 0;
}

static json_t *from_life(const struct life *life)
{
	json_t *object = json_pack("{s:i,s:f,s:f,s:i,s:f}", "told", life->told, "from",
				   life->from, "next", life->next, "reminded",
				   (int)life->reminded, "reach", life->reach);

	if (life->acked)
		json_object_set_new(object, "acked", json_real(life->acked_at));
	if (life->eased)
		json_object_set_new(object, "eased", json_real(life->eased_since));
	return object;
}

/* What a slot was raised at lately tells whether it chatters, or may be told. */
static json_t *from_raises(const struct slot *slot, double now)
{
	const struct alert *alert = slot->alert;
	double for_long = slot->kind == SLOT_DUE ? DUE_APART : CHATTER_SECONDS;

	if (alert->raises[0] == 0 || now - alert->raises[0] > for_long)
		return NULL;
	json_t *list = json_array();

	for (size_t i = 0; i < CHATTER_RAISES; i++)
		json_array_append_new(list, json_real(alert->raises[i]));
	return list;
}

static json_t *from_alert(const struct alert *alert)
{
	if (!alert->stands)
		return NULL;
	json_t *object = json_pack("{s:s,s:s,s:i,s:s,s:s,s:f,s:o,s:b,s:i}", "id", alert->id,
				   "condition", condition_word(alert->condition), "side",
				   (int)alert->side, "priority", priority_word(alert->priority),
				   "gravest", priority_word(alert->gravest), "since",
				   alert->since, "life",
				   from_life(&alert->life), "chattering", alert->chattering,
				   "joined", (int)alert->joined);

	if (alert->heir)
		json_object_set_new(object, "heir_since", json_real(alert->family_since));
	if (alert->has_worst)
		json_object_set_new(object, "worst", json_real(alert->worst));
	return object;
}

static json_t *from_episode(const struct episode *episode)
{
	if (episode->side == INSIDE)
		return NULL;
	json_t *object = json_pack("{s:s,s:f,s:f,s:f,s:i,s:b}", "side",
				   episode->side == BELOW ? "below" : "above", "since",
				   episode->since, "outside", episode->outside, "worst",
				   episode->worst, "readings", episode->readings, "due",
				   episode->due);

	if (episode->returning)
		json_object_set_new(object, "back_since", json_real(episode->back_since));
	if (episode->out)
		json_object_set_new(object, "out_since", json_real(episode->out_since));
	if (episode->by_allowance)
		json_object_set_new(object, "by_allowance", json_true());
	return object;
}

static json_t *from_runaway(const struct runaway *runaway)
{
	if (runaway->side == INSIDE)
		return NULL;
	json_t *object = json_pack("{s:i,s:f,s:b}", "side", (int)runaway->side, "since",
				   runaway->since, "due", runaway->due);

	if (runaway->returning)
		json_object_set_new(object, "back_since", json_real(runaway->back_since));
	return object;
}

static bool add_judged(json_t *object, const struct judged *judged)
{
	bool worth = add(object, "band", from_episode(&judged->band));

	worth |= add(object, "limits", from_episode(&judged->limits));
	worth |= add(object, "runaway", from_runaway(&judged->runaway));
	worth |= add(object, "allowance", allowance_to_json(judged->allowance));
	return worth;
}

struct keeping {
	const struct flow *flow;
	json_t *list;
};

static bool add_series(json_t *object, const struct flow *flow, const struct live_series *series)
{
	bool worth = add_judged(object, &series->judged);

	if (flow->now - series->heard > QUIET_SILENCE + series->every)
		worth |= add(object, "heard", json_real(series->heard));
	add(object, "quantity", json_string(quantity_word(series->key.quantity)));
	return worth;
}

/* What a frozen probe gives, so that the same again is no change. */
static json_t *from_repeat(const struct flow *flow, const struct slot *slot)
{
	const struct place_conf *place = &slot->enclosure->conf->places[slot->place];
	const struct repeat *repeat = &flow->probes[place->probe].repeat;
	json_t *object = json_pack("{s:f}", "since", repeat->since);

	for (int q = 0; q < QUANTITIES; q++)
		if (repeat->has[q])
			json_object_set_new(object, quantity_word((enum quantity)q),
					    json_real(repeat->value[q]));
	return object;
}

/* Which one it is of its enclosure, and what that must know again. */
static void add_place(json_t *object, const struct flow *flow, const struct slot *slot)
{
	add(object, "enclosure", json_string(slot->enclosure->conf->name));
	add(object, "place", json_string(place_word(slot->place)));
	if (slot->kind == SLOT_SILENCE && slot->enclosure->places[slot->place].patchy)
		add(object, "patchy", json_true());
	if (slot->kind == SLOT_DUE)
		add(object, "at", json_real(slot->enclosure->due->at));
	if (slot->kind == SLOT_FROZEN && slot->alert->stands)
		add(object, "repeat", from_repeat(flow, slot));
}

static void keep_slot(void *context, const struct slot *slot)
{
	const struct keeping *keeping = context;
	json_t *object = json_pack("{s:s}", "slot", slot_word(slot->kind));
	const struct judged *judged = NULL;
	bool worth = add(object, "alert", from_alert(slot->alert));

	worth |= add(object, "raises", from_raises(slot, keeping->flow->now));
	if (slot->kind == SLOT_SERIES) {
		judged = &slot->series->judged;
		worth |= add_series(object, keeping->flow, slot->series);
	} else if (slot->kind == SLOT_GRADIENT) {
		judged = &slot->enclosure->gradient->judged;
		worth |= add_judged(object, judged);
	}
	if (worth) {
		/* One that chatters stands on, though its episode is over since then. */
		if (judged && slot->alert->chattering && judged->band.side == INSIDE)
			add(object, "over", json_real(fmax(judged->band.back_since,
							   judged->limits.back_since)));
		if (judged && judged->has_last)
			add(object, "last", json_pack("[f,f]", judged->last.time, judged->last.value));
		if (slot->enclosure)
			add_place(object, keeping->flow, slot);
		if (slot->kind == SLOT_TROUBLE)
			add(object, "condition", json_string(condition_word(slot->trouble)));
		if (slot->kind == SLOT_WEBHOOK)
			add(object, "webhook",
			    json_string(keeping->flow->conf->webhooks[slot->webhook].name));
		json_array_append(keeping->list, object);
	}
	json_decref(object);
}

static json_t *from_matters(const struct flow *flow)
{
	json_t *list = json_array();

	for (int q = 0; q < QUANTITIES; q++)
		for (int s = 0; s < SIDES; s++) {
			const struct matter *matter = &flow->matters[q][s];

			if (matter->on)
				json_array_append_new(
					list,
					json_pack("{s:s,s:i,s:f,s:f,s:s,s:i,s:f,s:o}", "quantity",
						  quantity_word((enum quantity)q), "side", s + 1,
						  "since", matter->since, "wide", matter->wide,
						  "priority",
						  priority_word(matter->gravest), "most",
						  (int)matter->most, "cleared", matter->cleared, "life",
						  from_life(&matter->life)));
		}
	return list;
}

static json_t *from_shelving(const struct flow *flow)
{
	json_t *list = json_array();

	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		const struct live_enclosure *enclosure = &flow->enclosures[e];

		if (enclosure->shelved)
			json_array_append_new(list, json_pack("{s:s,s:f}", "enclosure",
							      enclosure->conf->name, "until",
							      enclosure->shelved_until));
	}
	return list;
}

json_t *standing_json(struct flow *flow)
{
	struct keeping keeping = { flow, json_array() };
	json_t *matters = from_matters(flow), *shelved = from_shelving(flow);
	json_t *whole = json_pack("{s:o,s:f}", "standing", keeping.list, "tested", flow->tested);

	each_slot(flow, keep_slot, &keeping);
	bool worth = json_array_size(keeping.list) > 0;

	if (json_array_size(matters) > 0)
		worth |= add(whole, "matters", json_incref(matters));
	if (json_array_size(shelved) > 0)
		worth |= add(whole, "shelved", json_incref(shelved));
	if (worth)
		add(whole, "time", json_real(flow->now));
	json_decref(matters);
	json_decref(shelved);
	return whole;
}
