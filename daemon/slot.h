/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Every slot of a flow in which an alert can stand, and where it is: for
 * whatever goes over all of them.
 */
#ifndef WARMSIDE_DAEMON_SLOT_H
#define WARMSIDE_DAEMON_SLOT_H

#include "daemon/flow.h"

enum slot_kind { SLOT_SERIES, SLOT_SILENCE, SLOT_FROZEN, SLOT_GRADIENT, SLOT_DUE,
		 SLOT_TROUBLE, SLOT_WEBHOOK, SLOT_KINDS };

struct slot {
	enum slot_kind kind;
	struct alert *alert;
	struct live_enclosure *enclosure; /* NULL: trouble of the tool's own */
	enum place place;       /* SERIES, SILENCE, FROZEN, DUE */
	struct live_series *series; /* SERIES, else NULL */
	enum condition trouble; /* TROUBLE */
	size_t webhook;         /* WEBHOOK */
};

/* The slots that are made one at a time. */
struct slot series_slot(struct live_enclosure *enclosure, struct live_series *series);
struct slot gradient_slot(struct live_enclosure *enclosure);
struct slot due_slot(struct live_enclosure *enclosure);
struct slot trouble_slot(struct flow *flow, enum condition condition);
struct slot webhook_slot(struct flow *flow, size_t webhook);

/* Calls visit for every slot: enclosure by enclosure, then the tool's own. */
void each_slot(struct flow *flow, void (*visit)(void *context, const struct slot *slot),
	       void *context);

/* The same for the slots of one enclosure. */
void each_slot_of(struct live_enclosure *enclosure,
		  void (*visit)(void *context, const struct slot *slot), void *context);

/* "series", "silence", "frozen", "gradient", "due", "trouble", "webhook" */
const char *slot_word(enum slot_kind kind);

/* An alert that a file says has joined what it cannot join stands alone: with its
 * enclosure goes what is of one, with the room what strays. */
void slot_mend_joined(const struct slot *slot);

#endif
