/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An alert-log record -> what a keeper reads: a title that fits a lock
 * screen, a text, and the body of the post.  Pure.
 */
#ifndef WARMSIDE_DAEMON_MESSAGE_H
#define WARMSIDE_DAEMON_MESSAGE_H

#include "conf/alertlog.h"
#include "conf/model.h"

enum { TITLE_CHARACTERS = 60 };

/* What the record alone does not say. */
struct message_context {
	const struct conf *conf;
	const struct enclosure *enclosure; /* NULL when it concerns none */
	bool has_band;
	struct range band;      /* in force at the record's time */
	double over;            /* cleared: when it was over */
	bool whole_enclosure;   /* silent: no probe of it speaks */
	bool quiet;             /* to be logged, not to be told */
};

/* A sentence of at most 60 characters: "T3 too dry, 38 %".  malloc'ed. */
char *message_title(const struct alert_record *record, const struct message_context *context);

/* The text under the title: which enclosure, where, what now, which band,
 * since when, how far at worst; in the keeper's units and local time.
 * malloc'ed, the caller frees. */
char *message_text(const struct alert_record *record, const struct message_context *context);

/* The body of the post: JSON ({"type":"alert.raised","timestamp","data"} after
 * the Standard Webhooks specification 1.0.0, data being the record with its
 * title and text) or plain text whose first line is the title.  malloc'ed. */
char *message_body(enum body body, const struct alert_record *record, const char *title,
		   const char *text);

/* "application/json" or "text/plain; charset=utf-8" */
const char *message_content_type(enum body body);

#endif
