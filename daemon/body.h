/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A message as a webhook wants it: JSON, plain text, or the keeper's own
 * template, with the keeper's own headers.  Pure.
 */
#ifndef WARMSIDE_DAEMON_BODY_H
#define WARMSIDE_DAEMON_BODY_H

#include <jansson.h>

#include "daemon/outbox.h"

/* What is to be said, before any webhook's wishes.  Everything is borrowed. */
struct message {
	const char *id;         /* webhook-id */
	const char *type;       /* "alert.raised" */
	double time;            /* s since the epoch */
	enum priority priority;
	const char *enclosure;  /* the label of the one it concerns, or "" */
	const char *title, *text;
	const json_t *data;     /* an object: what the JSON body's data holds beside title
				 * and text; NULL: nothing */
};

/* Fills content_type, body, headers and title of *out; they are malloc'ed.
 * JSON is {"type","version":1,"timestamp","data"} after the Standard Webhooks
 * specification 1.0.0; plain text begins with the title, then a blank line. */
void body_write(const struct webhook *webhook, const struct message *message,
		struct outgoing *out);

#endif
