/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The outbox: a folder with one file a message and webhook, written whole,
 * synced and renamed in.  The watcher adds, the courier lists, reads and
 * removes after a 2xx.  Names sort by time, and what is of one millisecond in
 * the order of adding.
 */
#ifndef WARMSIDE_DAEMON_OUTBOX_H
#define WARMSIDE_DAEMON_OUTBOX_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/alertlog.h"

/* An alert that a message tells of. */
struct outgoing_part {
	char alert[ALERT_ID];
	bool cleared;                   /* it tells that it is over */
};

/* A message on its way to one webhook. */
struct outgoing {
	char id[ALERT_ID];              /* webhook-id: the same at every try */
	char alert[ALERT_ID];           /* the alert it tells of; of several the gravest */
	char webhook[NAME_SIZE];        /* the name in the configuration */
	double created;                 /* s since the epoch */
	unsigned long number;           /* counts what its writer added; only in the name */
	char *content_type;
	char *body;
	char *headers;                  /* the keeper's own, "Name: value\n" each; NULL: none */
	char *title;                    /* for a summary of what waited too long */
	struct outgoing_part *parts;    /* every alert it tells of; none in a test */
	size_t part_count;
};

/* Frees the strings of a message, not the struct itself. */
void outgoing_clear(struct outgoing *outgoing);

/* Writes the message into the folder; false with errno when it could not. */
bool outbox_add(const char *folder, const struct outgoing *outgoing);

/* The names of the messages in the folder, oldest first; malloc'ed strings in
 * a malloc'ed array of *count.  Half-written files are not listed.  NULL with
 * errno, and a count of 0, when the folder cannot be listed. */
char **outbox_list(const char *folder, size_t *count);
void outbox_list_free(char **names, size_t count);

/* The webhook a message of that name is for; points into the name and ends
 * where its ending begins: *length bytes.  NULL when the name is none of ours. */
const char *outbox_webhook(const char *name, size_t *length);

/* Reads one.  False when it is no message (errno 0), is gone (ENOENT) or
 * cannot be read now. */
bool outbox_read(const char *folder, const char *name, struct outgoing *out);

/* Takes a delivered message out.  False, with a line logged, when it stays. */
bool outbox_remove(const char *folder, const char *name);

#endif
