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

/* Bytes one message may have as text; a summary of thousands has room. */
enum { MESSAGE_CEILING = 1 << 20 };

/* An alert that a message tells of. */
struct outgoing_part {
	char alert[ALERT_ID];
	bool cleared;                   /* it tells that it is over */
};

/* A message that a summary stands for. */
struct outgoing_replaced {
	char id[ALERT_ID];              /* its webhook-id */
	char alert[ALERT_ID];           /* "" when it was a summary itself */
	double created;                 /* s since the epoch */
	char *title;
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
	struct outgoing_replaced *replaced; /* of a summary: those it stands for */
	size_t replaced_count;
};

/* Frees the strings of a message, not the struct itself. */
void outgoing_clear(struct outgoing *outgoing);

/* The message as the text of its file, and back; malloc'ed.  False when the
 * text is no message (*out is then empty); what an older version did not
 * write is absent. */
char *outgoing_text(const struct outgoing *outgoing);
bool outgoing_from_text(const char *text, size_t size, struct outgoing *out);

/* The name its file has in the folder; malloc'ed. */
char *outbox_name(const struct outgoing *outgoing);

/* Takes away what a sudden end left half written.  Only while nobody else
 * writes there. */
void outbox_tidy(const char *folder);

/* Writes the message into the folder; false with errno when it could not. */
bool outbox_add(const char *folder, const struct outgoing *outgoing);

/* The names of the messages in the folder, oldest first; malloc'ed strings in
 * a malloc'ed array of *count.  Half-written files are not listed.  NULL with
 * errno, and a count of 0, when the folder cannot be listed. */
char **outbox_list(const char *folder, size_t *count);
void outbox_list_free(char **names, size_t count);

/* The webhook a message of that name is for, and its id: they point into the
 * name and are *length bytes long.  NULL when the name is none of ours. */
const char *outbox_webhook(const char *name, size_t *length);
const char *outbox_id(const char *name, size_t *length);

/* When a message of that name was created, s since the epoch. */
double outbox_created(const char *name);

/* The time, `now` or later, by which a message comes after all that are in the
 * folder: the clock may have gone back since they were created. */
double outbox_after_all(const char *folder, double now);

/* Reads one.  False when it is no message (errno 0), is gone (ENOENT) or
 * cannot be read now. */
bool outbox_read(const char *folder, const char *name, struct outgoing *out);

/* Takes a message out; true when it is not there afterwards, else errno. */
bool outbox_remove(const char *folder, const char *name);

#endif
