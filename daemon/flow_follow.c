/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What follows from another alert of the same enclosure: a stuck heater makes
 * one side too hot, then the other, then the air too dry, and is one message;
 * see flow_tell.h.
 */
#include <math.h>

#include "daemon/flow_tell.h"

static bool is_temperature(const struct slot *slot)
{
	return slot->kind == SLOT_SERIES && slot->series->key.quantity == TEMPERATURE;
}

/* Heat dries the air, cold makes it damp. */
static bool humidity_of_warmth(enum side humidity, enum side warmth)
{
	return (humidity == BELOW) == (warmth == ABOVE);
}

/* What is computed must not hide what was measured. */
static bool is_as_sure(const struct slot *leader, const struct slot *slot)
{
	return slot->series->key.computed || !leader->series->key.computed;
}

/* Whether one matter is in all likelihood a consequence of the other, or has
 * the same cause. */
static bool follows(const struct slot *slot, const struct slot *leader)
{
	if (slot->kind == SLOT_GRADIENT)
		return is_temperature(leader);
	if (slot->kind != SLOT_SERIES)
		return false;
	if (leader->kind == SLOT_GRADIENT)
		return is_temperature(slot) && slot->place == WARM_SIDE &&
		       slot->alert->side == BELOW;
	if (leader->kind != SLOT_SERIES)
		return false;
	if (slot->series->key.quantity == leader->series->key.quantity)
		return slot->alert->side == leader->alert->side && is_as_sure(leader, slot);
	return is_temperature(leader) &&
	       humidity_of_warmth(slot->alert->side, leader->alert->side);
}

struct family {
	const struct slot *slot;
	bool has_leader, has_heir;
	struct slot leader;     /* follows nothing here itself, and the slot follows it */
	struct slot heir;       /* followed the slot; the gravest of them */
};

static void look_at(void *context, const struct slot *other)
{
	struct family *family = context;
	const struct alert *alert = other->alert;

	if (!alert->stands || alert == family->slot->alert)
		return;
	if (alert->joined != WITH_ENCLOSURE && !family->has_leader &&
	    follows(family->slot, other)) {
		family->has_leader = true;
		family->leader = *other;
	}
	if (alert->joined == WITH_ENCLOSURE && follows(other, family->slot) &&
	    (!family->has_heir || alert->priority > family->heir.alert->priority)) {
		family->has_heir = true;
		family->heir = *other;
	}
}

/* What the keeper believes of a leader; of one that the room's matter tells of,
 * nothing that concerns this enclosure alone. */
static bool knows(const struct alert *leader, const struct alert *alert)
{
	if (alert->priority == NOW && (leader->joined == WITH_ROOM || leader->life.acked))
		return false;
	return alert_grade_among_others(alert) <= leader->life.told ||
	       alert->priority < leader->priority;
}

/* It joins silently what is as grave; what is graver takes the lead. */
static void consider_raised(const struct slot *slot, const struct family *family,
			    struct message_context *message)
{
	struct alert *alert = slot->alert, *leader = family->leader.alert;

	if (knows(leader, alert)) {
		alert->joined = WITH_ENCLOSURE;
		message->joins = true;
		message->follows = leader->id;
		return;
	}
	alert->joined = ALONE;
	message->told = WORSENED;
	if (leader->joined == WITH_ROOM || !follows(&family->leader, slot))
		return;
	leader->joined = WITH_ENCLOSURE;
	alert->life.reach = fmax(alert->life.reach, leader->life.reach);
	if (leader->gravest > alert->gravest)
		alert->gravest = leader->gravest;
}

/* The last of a family tells that it is over; the first to go hands on what it
 * has been told. */
static void consider_cleared(const struct slot *slot, const struct family *family,
			     struct message_context *message)
{
	struct alert *alert = slot->alert;

	if (alert->joined == WITH_ENCLOSURE) {
		message->joins = true; /* it was not told by itself either */
		message->follows = family->has_leader ? family->leader.alert->id : "";
	} else if (family->has_heir) {
		struct alert *heir = family->heir.alert;

		heir->joined = ALONE;
		heir->heir = true;
		heir->family_since = fmin(heir->since, alert->heir ? alert->family_since
								   : alert->since);
		heir->life = alert->life;
		heir->life.told = alert_grade(heir);
		if (alert->gravest > heir->gravest)
			heir->gravest = alert->gravest;
		message->joins = true;
		message->follows = heir->id;
	}
	alert->joined = ALONE;
}

void follow_consider(const struct slot *slot, enum event event,
		     struct message_context *message)
{
	struct family family = { .slot = slot };

	if (!slot->enclosure || slot->alert->joined == WITH_ROOM)
		return;
	each_slot_of(slot->enclosure, look_at, &family);
	if (event == CLEARED)
		consider_cleared(slot, &family, message);
	else if (family.has_leader && (event == RAISED || slot->alert->joined == WITH_ENCLOSURE))
		consider_raised(slot, &family, message);
}

void follow_mind(struct flow *flow, const struct slot *slot)
{
	struct alert *alert = slot->alert;
	struct family family = { .slot = slot };

	if (alert->joined == WITH_ENCLOSURE)
		each_slot_of(slot->enclosure, look_at, &family);
	if (alert->joined == WITH_ROOM && matter_of(flow, slot)->on)
		return;
	if (alert->joined == ALONE || family.has_leader)
		return;
	alert->joined = ALONE;
	life_begin(&alert->life, alert_grade(alert), flow->now);
	alert->life.next = flow->now;
}
