/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands, as time passes and as the keeper sees to it: reminders,
 * escalation, acknowledgement, shelving; see flow_tell.h and flow.h.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/flow_tell.h"

/* ---- passing time ---------------------------------------------------------- */

static void mind_slot(void *context, const struct slot *slot)
{
	struct flow *flow = context;
	struct alert *alert = slot->alert;
	double beyond;

	if (!alert->stands)
		return;
	flow->standing = true;
	if (slot->enclosure && is_held(slot->enclosure))
		return;
	if (slot->kind == SLOT_DUE)
		return; /* told once: then it is too dry, and that is another matter */
	follow_mind(flow, slot);
	if (alert->joined != ALONE)
		return;
	bool unanswered = life_escalate(&alert->life, flow->conf, flow->now, &beyond);

	if (!unanswered && !life_remind(&alert->life, flow->now))
		return;
	struct message_context message = context_of(flow, slot);

	message.unanswered = unanswered;
	if (unanswered)
		message.beyond = beyond;
	tell_event(flow, slot, REMINDED, NULL, &message);
}

/* Logged, not posted: the keeper did it, or was told when it would end. */
static void log_shelving(struct flow *flow, const struct live_enclosure *enclosure,
			 enum event event, const struct asking *asking)
{
	struct alert_record record = { .time = flow->now, .event = event };
	const struct message_context message = { .conf = flow->conf, .quiet = true,
						 .enclosure = enclosure->conf };

	strncpy(record.enclosure, enclosure->conf->name, sizeof record.enclosure - 1);
	if (event == SHELVED) {
		record.has_until = true;
		record.until = enclosure->shelved_until;
	}
	if (asking)
		record_sign(&record, asking);
	flow->sink.event(flow->sink.context, &record, &message);
}

/* What came due meanwhile and is on its way back need not be told any more. */
static void forget_if_returning(struct episode *episode)
{
	if (episode->returning)
		episode->due = false;
}

static void unshelve(struct flow *flow, struct live_enclosure *enclosure,
		     const struct asking *asking)
{
	enclosure->shelved = false;
	for (size_t s = 0; s < enclosure->count; s++) {
		forget_if_returning(&enclosure->series[s].judged.band);
		forget_if_returning(&enclosure->series[s].judged.limits);
	}
	log_shelving(flow, enclosure, UNSHELVED, asking);
}

void stand_tick(struct flow *flow)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		struct live_enclosure *enclosure = &flow->enclosures[e];

		if (enclosure->shelved && flow->now >= enclosure->shelved_until)
			unshelve(flow, enclosure, NULL);
	}
	if (!flow->standing)
		return;
	flow->standing = false; /* mind_slot finds out */
	each_slot(flow, mind_slot, flow);
}

/* ---- the keeper ------------------------------------------------------------ */

struct seeing {
	struct flow *flow;
	const struct asking *asking;
};

static void see_slot(void *context, const struct slot *slot)
{
	const struct seeing *seeing = context;
	const struct asking *asking = seeing->asking;
	const char *name = slot->enclosure ? slot->enclosure->conf->name : "";

	/* A request may have waited for the daemon: nobody has seen what came after. */
	if (!slot->alert->stands || slot->alert->life.acked ||
	    slot->alert->life.from > asking->time ||
	    (asking->enclosure[0] && strcmp(asking->enclosure, name) != 0))
		return;
	struct message_context message = context_of(seeing->flow, slot);

	life_ack(&slot->alert->life, seeing->flow->now);
	message.quiet = true;
	tell_event(seeing->flow, slot, ACKNOWLEDGED, asking, &message);
}

static void acknowledge(struct flow *flow, const struct asking *asking)
{
	struct seeing seeing = { flow, asking };
	bool all = !asking->enclosure[0] || strcmp(asking->enclosure, "room") == 0;

	each_slot(flow, see_slot, &seeing);
	for (int q = 0; all && q < QUANTITIES; q++)
		for (int s = 0; s < SIDES; s++) {
			struct matter *matter = &flow->matters[q][s];

			if (matter->on && !matter->life.acked &&
			    matter->life.from <= asking->time)
				life_ack(&matter->life, flow->now);
		}
}

static void make_test(struct flow *flow, const struct asking *asking)
{
	struct alert_record record = { .time = flow->now, .event = TESTED };
	const struct message_context message = { .conf = flow->conf, .told = TESTED };

	alert_new_id("alert_", record.id);
	record_sign(&record, asking);
	flow->tested = flow->now;
	flow->sink.event(flow->sink.context, &record, &message);
}

static void shelve(struct flow *flow, struct live_enclosure *enclosure,
		   const struct asking *asking)
{
	double until = asking->time + fmin(asking->seconds, SHELVE_MOST);

	if (until > flow->now) {
		enclosure->shelved = true;
		enclosure->shelved_until = until;
		log_shelving(flow, enclosure, SHELVED, asking);
	} else if (enclosure->shelved) {
		unshelve(flow, enclosure, asking);
	}
}

char *flow_ask(struct flow *flow, const struct asking *asking)
{
	struct live_enclosure *enclosure = flow_enclosure(flow, asking->enclosure);

	if (asking->enclosure[0] && !enclosure)
		return must_print("no enclosure is named \"%s\"", asking->enclosure);
	if (asking->what == ASKED_SHELVE && !enclosure)
		return must_copy("an enclosure must be named");
	if (asking->what == ASKED_ACK)
		acknowledge(flow, asking);
	else if (asking->what == ASKED_SHELVE)
		shelve(flow, enclosure, asking);
	else
		make_test(flow, asking);
	return NULL;
}
