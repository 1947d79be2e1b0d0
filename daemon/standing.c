/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands, over a restart; see standing.h.
 */
#include "daemon/standing.h"

#include <math.h>
#include <string.h>

#include "conf/words.h"

enum { QUIET_SILENCE = 30 }; /* s unheard, beyond a poll, that are worth keeping */

/* ---- out ---------------------------------------------------------------- */

static json_t *from_alert(const struct alert *alert)
{
	if (!alert->stands)
		return NULL;
	json_t *object = json_pack("{s:s,s:s,s:s,s:f}", "id", alert->id, "condition",
				   condition_word(alert->condition), "priority",
				   priority_word(alert->priority), "since", alert->since);

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
	return object;
}

/* Adds a member that is worth keeping; NULL is not. */
static bool add(json_t *object, const char *key, json_t *member)
{
	return member && json_object_set_new(object, key, member) == 0;
}

static void add_series(json_t *list, const struct flow *flow,
		       const struct live_enclosure *enclosure, const struct live_series *series)
{
	json_t *object = json_object();
	bool worth = add(object, "alert", from_alert(&series->alert));

	worth |= add(object, "band", from_episode(&series->judged.band));
	worth |= add(object, "limits", from_episode(&series->judged.limits));
	if (flow->now - series->heard > QUIET_SILENCE + series->every)
		worth |= add(object, "heard", json_real(series->heard));
	if (worth) {
		if (series->judged.has_last)
			add(object, "last",
			    json_pack("[f,f]", series->judged.last.time, series->judged.last.value));
		add(object, "enclosure", json_string(enclosure->conf->name));
		add(object, "place", json_string(place_word(series->key.place)));
		add(object, "quantity", json_string(quantity_word(series->key.quantity)));
		json_array_append(list, object);
	}
	json_decref(object);
}

static void add_silence(json_t *list, const struct live_enclosure *enclosure, enum place place)
{
	const struct live_place *at = &enclosure->places[place];

	if (at->silence.stands)
		json_array_append_new(list, json_pack("{s:s,s:s,s:o}", "enclosure",
						      enclosure->conf->name, "place",
						      place_word(place), "silence",
						      from_alert(&at->silence)));
}

char *standing_text(const struct flow *flow)
{
	json_t *list = json_array();
	json_t *whole = json_pack("{s:o}", "standing", list);

	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		const struct live_enclosure *enclosure = &flow->enclosures[e];

		for (size_t s = 0; s < enclosure->count; s++)
			add_series(list, flow, enclosure, &enclosure->series[s]);
		for (int p = 0; p < PLACES; p++)
			add_silence(list, enclosure, (enum place)p);
	}
	bool worth = json_array_size(list) > 0;

	worth |= add(whole, "clock", from_alert(&flow->clock));
	worth |= add(whole, "archive", from_alert(&flow->archive));
	if (worth)
		add(whole, "time", json_real(flow->now));
	char *text = json_dumps(whole, JSON_INDENT(1) | JSON_REAL_PRECISION(15));

	json_decref(whole);
	return text;
}

/* ---- back in ------------------------------------------------------------ */

static bool to_alert(const json_t *object, struct alert *alert)
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
	*alert = (struct alert){
		.stands = true,
		.condition = record.condition,
		.priority = record.priority,
		.since = record.since,
		.has_worst = record.has_worst,
		.worst = record.worst,
	};
	memcpy(alert->id, record.id, sizeof alert->id);
	return true;
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
	*episode = kept;
}

static void restore_series(struct live_series *series, json_t *object, double passed)
{
	double heard, time, value;

	to_alert(json_object_get(object, "alert"), &series->alert);
	to_episode(json_object_get(object, "band"), &series->judged.band);
	to_episode(json_object_get(object, "limits"), &series->judged.limits);
	if (json_unpack(object, "{s:F}", "heard", &heard) == 0)
		series->heard = heard + passed;
	if (json_unpack(object, "{s:[F,F]}", "last", &time, &value) == 0) {
		series->judged.last = (struct sample){ time, value };
		series->judged.has_last = true;
	}
}

/* An alert that no slot takes any more, because its enclosure or place is
 * gone from the configuration, is over: logged, not told. */
static void clear_orphan(struct flow *flow, json_t *object)
{
	static const char *const slots[] = { "alert", "silence" };
	const struct message_context message = { .conf = flow->conf, .quiet = true,
						 .over = flow->now };

	for (size_t i = 0; i < sizeof slots / sizeof *slots; i++) {
		json_t *kept = json_object_get(object, slots[i]);
		struct alert_record record;

		if (!json_is_object(kept))
			continue;
		json_object_update_missing(kept, object); /* where it was */
		json_object_set_new(kept, "time", json_real(flow->now));
		json_object_set_new(kept, "event", json_string(event_word(CLEARED)));
		if (alert_from_json(kept, &record))
			flow->sink.event(flow->sink.context, &record, &message);
	}
}

static struct live_enclosure *enclosure_named(struct flow *flow, const char *name)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++)
		if (strcmp(flow->enclosures[e].conf->name, name) == 0)
			return &flow->enclosures[e];
	return NULL;
}

/* False when nothing here takes it. */
static bool restore_entry(struct flow *flow, json_t *object, double passed)
{
	const char *enclosure, *place_text, *quantity_text;
	struct live_enclosure *live;
	enum place place;
	enum quantity quantity;

	if (json_unpack(object, "{s:s,s:s}", "enclosure", &enclosure, "place", &place_text) != 0)
		return true;
	live = enclosure_named(flow, enclosure);
	if (!live || !place_from_word(place_text, &place))
		return false;
	/* A place without a probe clears its silence at the first tick. */
	if (to_alert(json_object_get(object, "silence"), &live->places[place].silence))
		return true;
	if (json_unpack(object, "{s:s}", "quantity", &quantity_text) != 0 ||
	    !quantity_from_word(quantity_text, &quantity))
		return true;
	for (size_t s = 0; s < live->count; s++)
		if (live->series[s].key.place == place &&
		    live->series[s].key.quantity == quantity) {
			restore_series(&live->series[s], object, passed);
			return true;
		}
	return false;
}

bool standing_restore(struct flow *flow, const char *text)
{
	json_t *whole = json_loads(text, JSON_REJECT_DUPLICATES, NULL);
	json_t *list = json_object_get(whole, "standing"), *entry;
	bool good = json_is_array(list);
	double saved = flow->now;
	size_t index;

	json_unpack(whole, "{s?F}", "time", &saved);
	json_array_foreach(list, index, entry)
		if (!restore_entry(flow, entry, fmax(flow->now - saved, 0)))
			clear_orphan(flow, entry);
	to_alert(json_object_get(whole, "clock"), &flow->clock);
	to_alert(json_object_get(whole, "archive"), &flow->archive);
	json_decref(whole);
	return good;
}
