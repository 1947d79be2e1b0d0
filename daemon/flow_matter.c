/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Matters of the whole room: when most enclosures stray the same way, it is
 * the room, and one message says so; see flow_tell.h.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "daemon/flow_tell.h"

enum {
	LEAST_ENCLOSURES = 3,   /* fewer are no room to speak of */
	LISTED = 8,             /* enclosures named in the text */
	REST_SECONDS = 12 * 3600, /* after which the few that are left stand alone */
};

struct matter *matter_of(struct flow *flow, const struct slot *slot)
{
	return &flow->matters[slot->series->key.quantity][slot->alert->side - 1];
}

/* ---- who strays ------------------------------------------------------------ */

static bool strays_so(const struct live_series *series, enum side side)
{
	return series->judged.band.side == side || series->judged.limits.side == side ||
	       (series->alert.stands && series->alert.side == side);
}

/* An enclosure that strays. */
struct stray {
	const char *label;
	bool danger;            /* beyond a limit, or on the way there */
	bool computed;
	double depth;           /* how far out, in widths of the band */
	double value;
};

static bool is_in_danger(const struct live_series *series, enum side side)
{
	const struct judged *judged = &series->judged;

	return judged->limits.side == side || (judged->runaway.due && judged->runaway.side == side);
}

static double depth_of(const struct live_series *series, const struct rule *rule, enum side side)
{
	const struct range *range = rule->has_band ? &rule->day : &rule->limits;
	double edge = side == BELOW ? range->low : range->high;

	return fabs(series->judged.last.value - edge) / fmax(range->high - range->low, 1);
}

static bool strays_farther(const struct stray *a, const struct stray *b)
{
	return a->danger != b->danger ? a->danger : a->depth > b->depth;
}

/* Whether an enclosure could stray in this way, and whether it does: then
 * *stray is its worst place. */
static bool look_at_enclosure(struct flow *flow, const struct live_enclosure *enclosure,
			      const struct room_view *view, bool *able, struct stray *stray)
{
	bool strays = false;

	*able = false;
	for (size_t s = 0; s < enclosure->count; s++) {
		const struct live_series *series = &enclosure->series[s];
		struct rule room;

		if (series->key.quantity != view->quantity || is_silent(flow, series))
			continue;
		const struct rule *rule = flow_rule(flow, series, flow->now, &room);

		if (!rule->has_band && !rule->has_limits)
			continue;
		*able = true;
		if (!strays_so(series, view->side))
			continue;
		const struct stray here = {
			.label = enclosure->conf->label,
			.danger = is_in_danger(series, view->side),
			.computed = series->key.computed,
			.depth = depth_of(series, rule, view->side),
			.value = series->judged.last.value,
		};

		if (!strays || strays_farther(&here, stray))
			*stray = here;
		strays = true;
	}
	return strays;
}

static bool counts(const struct live_enclosure *enclosure)
{
	return !enclosure->conf->is_room && !is_held(enclosure);
}

/* How many stray so, of how many.  The worst come into strays, when that is not
 * NULL; returns how many are in it. */
static size_t count_round(struct flow *flow, struct room_view *view,
			  struct stray strays[LISTED])
{
	size_t listed = 0;

	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		struct stray stray = { 0 };
		bool able;

		if (!counts(&flow->enclosures[e]))
			continue;
		bool out = look_at_enclosure(flow, &flow->enclosures[e], view, &able, &stray);

		view->able += able;
		if (!out)
			continue;
		view->out++;
		view->danger += stray.danger;
		for (size_t i = 0; strays && i < LISTED; i++) {
			if (i < listed && !strays_farther(&stray, &strays[i]))
				continue;
			size_t end = listed < LISTED ? listed++ : LISTED - 1;

			memmove(&strays[i + 1], &strays[i], (end - i) * sizeof *strays);
			strays[i] = stray;
			break;
		}
	}
	return listed;
}

/* Who they are, the worst first, for the text. */
static char *list_round(struct flow *flow, struct room_view *view)
{
	struct stray strays[LISTED];
	char *list = NULL, text[MEASURE_TEXT];
	size_t size, listed = count_round(flow, view, strays);
	FILE *out = open_memstream(&list, &size);

	for (size_t i = 0; out && i < listed; i++)
		fprintf(out, "%s%s %s%s%s", i ? ", " : "", strays[i].label,
			show_value(strays[i].value, view->quantity, flow->conf->units, text),
			strays[i].computed ? " (computed)" : "", strays[i].danger ? " (in danger)" : "");
	if (out && view->out > listed)
		fprintf(out, " and %zu more", view->out - listed);
	if (out)
		fclose(out);
	return list ? list : must_copy("");
}

static void look_at_room(const struct flow *flow, struct room_view *view)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		const struct live_enclosure *enclosure = &flow->enclosures[e];

		for (size_t s = 0; enclosure->conf->is_room && s < enclosure->count; s++) {
			const struct live_series *series = &enclosure->series[s];

			if (series->key.quantity != view->quantity || !series->judged.has_last ||
			    is_silent(flow, series))
				continue;
			view->has_air = true;
			view->air = series->judged.last.value;
		}
	}
}

static struct room_view view_of(struct flow *flow, const struct matter *matter,
				enum quantity quantity, enum side side)
{
	struct room_view view = { .quantity = quantity, .side = side, .since = matter->since };

	view.list = list_round(flow, &view);
	look_at_room(flow, &view);
	return view;
}

/* ---- who has joined -------------------------------------------------------- */

/* What to do with those that have joined, beside counting: let all of that kind
 * join, let them go, or forget that they were acknowledged. */
enum going { COUNT, JOIN, LEAVE, RENEW };

struct joining {
	enum quantity quantity;
	enum side side;
	enum going going;
	double now;
	size_t joined, told_alone;
	int grade;              /* of the gravest of them now */
	struct slot gravest;
	enum priority told_with; /* the highest any was ever told with */
	double reach;           /* the farthest any was passed on */
};

static void visit_joined(void *context, const struct slot *slot)
{
	struct joining *joining = context;
	struct alert *alert = slot->alert;

	if (slot->kind != SLOT_SERIES || !alert->stands || alert->side != joining->side ||
	    slot->series->key.quantity != joining->quantity)
		return;
	if (joining->going == JOIN && alert->joined != WITH_ROOM) {
		joining->told_alone += alert->joined == ALONE;
		alert->joined = WITH_ROOM;
	}
	if (alert->joined != WITH_ROOM)
		return;
	joining->joined++;
	if (joining->going == RENEW)
		alert->life.acked = false;
	if (!joining->gravest.alert || alert_grade_among_others(alert) > joining->grade) {
		joining->gravest = *slot;
		joining->grade = alert_grade_among_others(alert);
	}
	if (alert->gravest > joining->told_with)
		joining->told_with = alert->gravest;
	joining->reach = fmax(joining->reach, alert->life.reach);
	if (joining->going == LEAVE) {
		alert->joined = ALONE; /* what is left stands alone from now on */
		life_begin(&alert->life, alert_grade(alert), joining->now);
	}
}

static struct joining go_over(struct flow *flow, enum quantity quantity, enum side side,
			      enum going going)
{
	struct joining joining = { .quantity = quantity, .side = side, .going = going,
				   .now = flow->now };

	each_slot(flow, visit_joined, &joining);
	return joining;
}

/* ---- events ---------------------------------------------------------------- */

/* The first alert of a matter: those told alone before are in it now, so it is
 * their worsening, else something new. */
static enum event begin_matter(struct flow *flow, struct matter *matter, const struct slot *slot)
{
	slot->alert->joined = WITH_ROOM;
	struct joining joining = go_over(flow, slot->series->key.quantity, slot->alert->side,
					 JOIN);

	*matter = (struct matter){ .on = true, .since = slot->alert->since, .wide = flow->now,
				   .gravest = joining.told_with, .most = joining.joined };
	/* It is as urgent as the most urgent of them, and goes as far. */
	matter->life.reach = joining.reach;
	life_begin(&matter->life, joining.grade, flow->now);
	return joining.told_alone ? WORSENED : RAISED;
}

static void tell_as_room(struct flow *flow, const struct slot *slot, enum event event,
			 struct message_context *message, struct room_view *view)
{
	const struct matter *matter = matter_of(flow, slot);

	*view = view_of(flow, matter, slot->series->key.quantity, slot->alert->side);
	message->room = view;
	message->told = event;
	message->gravest = matter->gravest;
	message->reach = matter->life.reach;
}

static void consider_graver(struct flow *flow, const struct slot *slot,
			    struct message_context *message, struct room_view *view)
{
	struct matter *matter = matter_of(flow, slot);
	const struct alert *alert = slot->alert;
	struct joining joining = go_over(flow, slot->series->key.quantity, alert->side, COUNT);
	/* Whoever has acknowledged it does not know of another animal in danger. */
	bool unseen = matter->life.acked && alert->priority == NOW;

	if (joining.joined > matter->most)
		matter->most = joining.joined;
	if (alert_grade_among_others(alert) <= matter->life.told && !unseen) {
		message->joins = true;
		return;
	}
	if (alert->priority > matter->gravest)
		matter->gravest = alert->priority;
	life_begin(&matter->life, joining.grade, flow->now);
	tell_as_room(flow, slot, WORSENED, message, view);
}

static void consider_cleared(struct flow *flow, const struct slot *slot,
			     struct message_context *message, struct room_view *view)
{
	struct matter *matter = matter_of(flow, slot);

	if (slot->alert->joined != WITH_ROOM)
		return;
	slot->alert->joined = ALONE;
	matter->cleared = flow->now;
	if (go_over(flow, slot->series->key.quantity, slot->alert->side, COUNT).joined > 0) {
		message->joins = true;
		return;
	}
	matter->on = false;
	tell_as_room(flow, slot, CLEARED, message, view);
}

static bool most_stray(struct flow *flow, enum quantity quantity, enum side side)
{
	struct room_view view = { .quantity = quantity, .side = side };

	count_round(flow, &view, NULL);
	return view.able >= LEAST_ENCLOSURES && view.out * 2 > view.able;
}

void matter_consider(struct flow *flow, const struct slot *slot, enum event event,
		     struct message_context *message, struct room_view *view)
{
	struct matter *matter = matter_of(flow, slot);

	if (event == CLEARED) {
		consider_cleared(flow, slot, message, view);
		return;
	}
	bool wide = most_stray(flow, slot->series->key.quantity, slot->alert->side);

	/* Nothing joins silently what is no more a matter of the whole room, unless it
	 * began while it was one. */
	if (!wide && !(matter->on && slot->alert->since <= matter->wide)) {
		if (slot->alert->joined == WITH_ROOM)
			slot->alert->joined = ALONE;
		return;
	}
	if (event == RAISED && matter->on) {
		slot->alert->joined = WITH_ROOM;
		consider_graver(flow, slot, message, view);
	} else if (event == WORSENED && slot->alert->joined == WITH_ROOM) {
		consider_graver(flow, slot, message, view);
	} else if (!matter->on) {
		enum event told = begin_matter(flow, matter, slot);

		tell_as_room(flow, slot, event == WORSENED ? WORSENED : told, message, view);
	}
}

/* ---- passing time ---------------------------------------------------------- */

static void remind(struct flow *flow, struct matter *matter, const struct joining *joining,
		   bool left)
{
	double beyond;
	bool unanswered = life_escalate(&matter->life, flow->conf, flow->now, &beyond);

	if (!left && !unanswered && !life_remind(&matter->life, flow->now))
		return;
	go_over(flow, joining->quantity, joining->side, RENEW);
	struct message_context message = context_of(flow, &joining->gravest);
	struct room_view view;

	tell_as_room(flow, &joining->gravest, REMINDED, &message, &view);
	view.left = left;
	message.unanswered = unanswered;
	if (unanswered)
		message.beyond = beyond;
	tell_event(flow, &joining->gravest, REMINDED, NULL, &message);
	free(view.list);
}

static void mind_matter(struct flow *flow, enum quantity quantity, enum side side)
{
	struct matter *matter = &flow->matters[quantity][side - 1];

	if (!matter->on)
		return;
	if (most_stray(flow, quantity, side))
		matter->wide = flow->now;
	struct joining joining = go_over(flow, quantity, side, COUNT);
	bool over = joining.joined == 0 ||
		    (matter->cleared != 0 && joining.joined * 2 <= matter->most &&
		     flow->now - matter->cleared >= REST_SECONDS);

	life_is_graver(&matter->life, joining.grade, flow->now); /* or has eased */
	if (joining.joined > 0)
		remind(flow, matter, &joining, over);
	if (over) {
		matter->on = false;
		go_over(flow, quantity, side, LEAVE);
	}
}

void matters_tick(struct flow *flow)
{
	for (int q = 0; q < QUANTITIES; q++)
		for (int s = BELOW; s <= ABOVE; s++)
			mind_matter(flow, (enum quantity)q, (enum side)s);
}
