/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Inside the flow: from an alert slot and what it should come to, to the
 * events that go into the alert log.
 */
#ifndef WARMSIDE_DAEMON_FLOW_TELL_H
#define WARMSIDE_DAEMON_FLOW_TELL_H

#include "daemon/slot.h"

/* ---- flow_tell.c ---------------------------------------------------------- */

/* Takes a slot to what is wanted, and tells each event on the way. */
void tell_slot(struct flow *flow, const struct slot *slot, const struct wanted *wanted);

/* Tells whatever a series' judged state calls for. */
void tell_series(struct flow *flow, struct live_enclosure *enclosure,
		 struct live_series *series);

/* Logs an event of a slot that its alert did not come to by itself, such as a
 * reminder, and tells of it unless message->quiet.  What the record says beside
 * the slot stands in *more (by, note), which may be NULL. */
void tell_event(struct flow *flow, const struct slot *slot, enum event event,
		const struct asking *more, struct message_context *message);

/* Who asked for it, and why. */
void record_sign(struct alert_record *record, const struct asking *asking);

/* What a message about a slot needs to know. */
struct message_context context_of(struct flow *flow, const struct slot *slot);

/* Clears, untold, whatever still stands in an enclosure whose alerts end. */
void tell_all_over(struct flow *flow, struct live_enclosure *enclosure);

/* The same for a webhook that is going away. */
void tell_webhook_over(struct flow *flow, size_t webhook);

/* The same for a misting that was to be due. */
void tell_due_over(struct flow *flow, struct live_enclosure *enclosure);

/* Whether an enclosure's alerts are held: shelved or out of service. */
bool is_held(const struct live_enclosure *enclosure);

/* Whether a series has given no reading for too long. */
bool is_silent(const struct flow *flow, const struct live_series *series);

/* Whether a place answers only now and then, and is not silent. */
bool is_patchy(const struct flow *flow, const struct live_enclosure *enclosure,
	       enum place place);

/* ---- flow_matter.c -------------------------------------------------------- */

/* What is told of a matter of the whole room. */
struct room_view {
	enum quantity quantity;
	enum side side;
	bool left;              /* reminded: most is over, these are left */
	size_t out, able;       /* enclosures that stray so, of those that could, ... */
	size_t danger;          /* ... and beyond a limit or on the way there */
	bool has_air;
	double air;             /* the room's own reading */
	double since;
	char *list;             /* "T3 21.3 °C, T4 ..."; malloc'ed */
};

/* Has an event of a series to do with the whole room?  Then *view is filled and
 * message->room points to it (free view->list), or message->joins is set: it is
 * told with the others. */
void matter_consider(struct flow *flow, const struct slot *slot, enum event event,
		     struct message_context *message, struct room_view *view);

/* The matter an alert of a series belongs to. */
struct matter *matter_of(struct flow *flow, const struct slot *slot);

/* Reminders of matters, and the end of those most of which is over. */
void matters_tick(struct flow *flow);

/* ---- flow_follow.c -------------------------------------------------------- */

/* Has an event to do with another alert of its enclosure?  Then message->joins
 * is set, or it is told as that one's worsening. */
void follow_consider(const struct slot *slot, enum event event,
		     struct message_context *message);

/* What followed something that is gone (by a reload, or with the matter of the
 * room) stands alone again, and is told at the next occasion. */
void follow_mind(struct flow *flow, const struct slot *slot);

/* ---- flow_life.c ----------------------------------------------------------- */

/* What is wanted of the difference between warm and cool side, `warm` being the
 * warm side's rule of the moment. */
struct rule gradient_rule(const struct enclosure *enclosure, const struct rule *warm);

/* ---- flow_due.c ------------------------------------------------------------ */

/* The humidity that a misting will be due for; NULL: none is known of. */
const struct live_series *due_series(const struct live_enclosure *enclosure);

/* Whether it is known of an enclosure how it dries, from lately. */
bool due_has_law(const struct flow *flow, const struct live_enclosure *enclosure);

/* Tells where a misting will be due; every ten minutes. */
void due_tick(struct flow *flow);

/* ---- flow_stand.c --------------------------------------------------------- */

/* Reminders and escalation of what stands; ends of shelving. */
void stand_tick(struct flow *flow);

/* ---- flow_compute.c ------------------------------------------------------- */

/* The humidities, in %, that a computed series has at the times its thermometer gave
 * these temperatures; none for those at which its source is not known: its latest
 * values are older than three times its `every`, or in doubt. */
struct passed flow_compute(const struct flow *flow, const struct live_series *series,
			   const struct passed *temperatures);

/* ---- flow.c --------------------------------------------------------------- */

/* For minutes_close and minutes_finish: hands a minute to the flow's sink. */
struct minute_for {
	struct flow *flow;
	size_t enclosure;
};
void hand_minute(void *context, const struct closed_minute *minute);

/* Lets go what the spike check held and nothing followed. */
void flow_release(struct flow *flow);

#endif
