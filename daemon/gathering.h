/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What has been logged and is still to be told: events wait here for a short
 * while, or through quiet hours, and go out as one message.  Its webhook-id is
 * drawn when it opens, so that the alert log can name it at once.  Pure.
 */
#ifndef WARMSIDE_DAEMON_GATHERING_H
#define WARMSIDE_DAEMON_GATHERING_H

#include "daemon/flow_tell.h"
#include "daemon/outbox.h"

/* One event, in words. */
struct item {
	struct alert_record record;
	enum event event;       /* as it is told: of a room matter its own */
	enum priority priority; /* the highest the alert was told with */
	double reach, beyond;   /* as in struct message_context */
	bool room;              /* told as a matter of the whole room ... */
	enum side side;         /* ... that strays to this side */
	bool joins;             /* told by the message of the room matter it belongs to */
	char *title, *text;     /* NULL when it joins */
};

/* Zero-initialised: closed. */
struct gathering {
	bool open;
	char id[ALERT_ID];      /* webhook-id */
	double close;           /* when it is to go, s since the epoch */
	struct item *items;
	size_t count;
};

/* Adds an item, opening the gathering when it is closed.  Takes over the
 * item's strings.  It goes no later than `close`. */
void gathering_add(struct gathering *gathering, struct item *item, double close);

/* Whether a matter of the room of that kind is going to be told by it. */
bool gathering_has_room(const struct gathering *gathering, enum quantity quantity,
			enum side side);

/* Whether it is going to tell of that alert. */
bool gathering_tells(const struct gathering *gathering, const char *alert);

/* Takes out what was going to be told of an alert; closes it when nothing is left. */
void gathering_drop(struct gathering *gathering, const char *alert);

/* Whether a webhook is told of an item. */
bool item_is_for(const struct item *item, const struct conf *conf, size_t webhook);

/* Frees the items and closes it. */
void gathering_clear(struct gathering *gathering);

/* The message for one webhook: what of the gathering it is told of, worst
 * first, in the words of its `body`.  What is over again within the gathering
 * is told as over only.  `flood`: alerts raised within 10 min, 0 when that is
 * no flood.  False when nothing is for that webhook. */
bool gathering_write(const struct gathering *gathering, const struct conf *conf, size_t webhook,
		     size_t flood, struct outgoing *out);

/* The title for somebody who is told everything; malloc'ed. */
char *gathering_title(const struct gathering *gathering, const struct conf *conf, size_t flood);

/* One item, for standing.json, and back; false when it is none of ours. */
json_t *item_to_json(const struct item *item);
bool item_from_json(json_t *object, struct item *item);

/* For standing.json: NULL when it is closed; and back.  What is no gathering
 * leaves it closed. */
json_t *gathering_to_json(const struct gathering *gathering);
void gathering_from_json(json_t *object, struct gathering *gathering);

#endif
