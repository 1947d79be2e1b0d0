/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every slot of a flow; see slot.h.
 */
#include "daemon/slot.h"

const char *slot_word(enum slot_kind kind)
{
	static const char *const words[SLOT_KINDS] = {
		[SLOT_SERIES] = "series",     [SLOT_SILENCE] = "silence",
		[SLOT_FROZEN] = "frozen",     [SLOT_GRADIENT] = "gradient",
		[SLOT_DUE] = "due",	      [SLOT_TROUBLE] = "trouble",
		[SLOT_WEBHOOK] = "webhook",
	};

	return words[kind];
}

struct slot series_slot(struct live_enclosure *enclosure, struct live_series *series)
{
	return (struct slot){
		.kind = SLOT_SERIES,
		.alert = &series->alert,
		.enclosure = enclosure,
		.place = series->key.place,
		.series = series,
	};
}

struct slot gradient_slot(struct live_enclosure *enclosure)
{
	return (struct slot){ .kind = SLOT_GRADIENT, .alert = &enclosure->gradient->alert,
			      .enclosure = enclosure };
}

struct slot due_slot(struct live_enclosure *enclosure)
{
	return (struct slot){ .kind = SLOT_DUE, .alert = &enclosure->due->alert,
			      .enclosure = enclosure, .place = enclosure->due->place };
}

struct slot trouble_slot(struct flow *flow, enum condition condition)
{
	return (struct slot){ .kind = SLOT_TROUBLE, .alert = &flow->troubles[condition],
			      .trouble = condition };
}

struct slot webhook_slot(struct flow *flow, size_t webhook)
{
	return (struct slot){ .kind = SLOT_WEBHOOK, .alert = &flow->webhooks[webhook],
			      .webhook = webhook };
}

void slot_mend_joined(const struct slot *slot)
{
	struct alert *alert = slot->alert;
	bool strays = slot->kind == SLOT_SERIES && alert->side != INSIDE;

	if ((alert->joined == WITH_ENCLOSURE && !slot->enclosure) ||
	    (alert->joined == WITH_ROOM && !strays))
		alert->joined = ALONE;
}

static void each_at_place(struct live_enclosure *enclosure, enum place place,
			  void (*visit)(void *context, const struct slot *slot), void *context)
{
	struct live_place *at = &enclosure->places[place];
	struct slot slot = { .enclosure = enclosure, .place = place };

	slot.kind = SLOT_SILENCE;
	slot.alert = &at->silence;
	visit(context, &slot);
	slot.kind = SLOT_FROZEN;
	slot.alert = &at->frozen;
	visit(context, &slot);
}

void each_slot_of(struct live_enclosure *enclosure,
		  void (*visit)(void *context, const struct slot *slot), void *context)
{
	for (size_t s = 0; s < enclosure->count; s++) {
		const struct slot slot = series_slot(enclosure, &enclosure->series[s]);

		visit(context, &slot);
	}
	for (int p = 0; p < PLACES; p++)
		each_at_place(enclosure, (enum place)p, visit, context);
	const struct slot gradient = gradient_slot(enclosure);

	visit(context, &gradient);
	const struct slot due = due_slot(enclosure);

	visit(context, &due);
}

void each_slot(struct flow *flow, void (*visit)(void *context, const struct slot *slot),
	       void *context)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++)
		each_slot_of(&flow->enclosures[e], visit, context);
	for (int c = 0; c < CONDITIONS; c++) {
		const struct slot slot = trouble_slot(flow, (enum condition)c);

		visit(context, &slot);
	}
	for (size_t w = 0; w < flow->conf->webhook_count; w++) {
		const struct slot slot = webhook_slot(flow, w);

		visit(context, &slot);
	}
}
