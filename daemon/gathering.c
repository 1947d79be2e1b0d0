/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Events on their way to a message; see gathering.h.
 */
#include "daemon/gathering.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

void gathering_add(struct gathering *gathering, struct item *item, double close)
{
	if (!gathering->open) {
		gathering->open = true;
		gathering->close = close;
		alert_new_id("msg_", gathering->id);
	}
	gathering->close = fmin(gathering->close, close);
	gathering->items = must_resize(gathering->items, gathering->count + 1,
				       sizeof *gathering->items);
	gathering->items[gathering->count++] = *item;
}

bool gathering_has_room(const struct gathering *gathering, enum quantity quantity,
			enum side side)
{
	for (size_t i = 0; i < gathering->count; i++) {
		const struct item *item = &gathering->items[i];

		if (item->room && !item->joins && item->record.quantity == quantity &&
		    item->side == side)
			return true;
	}
	return false;
}

bool gathering_tells(const struct gathering *gathering, const char *alert)
{
	for (size_t i = 0; i < gathering->count; i++)
		if (strcmp(gathering->items[i].record.id, alert) == 0)
			return true;
	return false;
}

bool item_is_for(const struct item *item, const struct conf *conf, size_t webhook)
{
	/* Whoever is held back is told at once that others are not reached. */
	double delay = item->record.condition == DELIVERY ? 0 : webhook_delay(conf, webhook);

	if (item->record.event == TESTED)
		return true;
	return item->priority >= conf->webhooks[webhook].priority && delay <= item->reach &&
	       delay > item->beyond &&
	       /* its own trouble cannot be told through it */
	       !(item->record.condition == DELIVERY &&
		 strcmp(item->record.webhook, conf->webhooks[webhook].name) == 0);
}

static void item_clear(struct item *item)
{
	free(item->title);
	free(item->text);
}

void gathering_drop(struct gathering *gathering, const char *alert)
{
	size_t left = 0;

	for (size_t i = 0; i < gathering->count; i++)
		if (strcmp(gathering->items[i].record.id, alert) == 0)
			item_clear(&gathering->items[i]);
		else
			gathering->items[left++] = gathering->items[i];
	gathering->count = left;
	if (left == 0)
		gathering_clear(gathering);
}

void gathering_clear(struct gathering *gathering)
{
	for (size_t i = 0; i < gathering->count; i++)
		item_clear(&gathering->items[i]);
	free(gathering->items);
	*gathering = (struct gathering){ 0 };
}

/* ---- standing.json --------------------------------------------------------- */

json_t *item_to_json(const struct item *item)
{
	json_t *object = json_pack("{s:o,s:s,s:s,s:f,s:f,s:b,s:i,s:b}", "record",
				   alert_to_json(&item->record), "event", event_word(item->event),
				   "priority", priority_word(item->priority), "reach", item->reach,
				   "beyond", item->beyond, "room", item->room, "side",
				   (int)item->side, "joins", item->joins);

	if (item->title)
		json_object_set_new(object, "title", json_string(item->title));
	if (item->text)
		json_object_set_new(object, "text", json_string(item->text));
	return object;
}

json_t *gathering_to_json(const struct gathering *gathering)
{
	if (!gathering->open)
		return NULL;
	json_t *items = json_array();

	for (size_t i = 0; i < gathering->count; i++)
		json_array_append_new(items, item_to_json(&gathering->items[i]));
	return json_pack("{s:s,s:f,s:o}", "id", gathering->id, "close", gathering->close, "items",
			 items);
}

bool item_from_json(json_t *object, struct item *item)
{
	const char *event, *priority, *title = NULL, *text = NULL;
	int room, side, joins;

	*item = (struct item){ 0 };
	if (json_unpack(object, "{s:s,s:s,s:F,s:F,s:b,s:i,s:b,s?s,s?s}", "event", &event,
			"priority", &priority, "reach", &item->reach, "beyond", &item->beyond,
			"room", &room, "side", &side, "joins", &joins, "title", &title, "text",
			&text) != 0 ||
	    !alert_from_json(json_object_get(object, "record"), &item->record) ||
	    !event_from_word(event, &item->event) ||
	    !priority_from_word(priority, &item->priority) || side < INSIDE || side > ABOVE)
		return false;
	item->room = room != 0;
	item->joins = joins != 0 || !title || !text;
	item->side = (enum side)side;
	item->title = title ? must_copy(title) : NULL;
	item->text = text ? must_copy(text) : NULL;
	return true;
}

void gathering_from_json(json_t *object, struct gathering *gathering)
{
	json_t *entry;
	const char *id;
	double close;
	size_t index;

	if (json_unpack(object, "{s:s,s:F}", "id", &id, "close", &close) != 0 ||
	    strlen(id) >= sizeof gathering->id)
		return;
	json_array_foreach(json_object_get(object, "items"), index, entry) {
		struct item item;

		if (item_from_json(entry, &item))
			gathering_add(gathering, &item, close);
	}
	memcpy(gathering->id, id, strlen(id) + 1);
}
