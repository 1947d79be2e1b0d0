/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The messages that wait for their webhooks, as the courier sees them: the
 * files of the outbox, and what the watcher handed over because the disk did
 * not take it.  A message is known by the name of its file, be that there or
 * not: what was handed over and appears later is the same message.
 *
 * Of a message in the folder only its name and the alerts it tells of are in
 * memory.
 */
#ifndef WARMSIDE_DAEMON_WAITING_H
#define WARMSIDE_DAEMON_WAITING_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/model.h"
#include "daemon/log.h"
#include "daemon/outbox.h"

/* A removed webhook's messages are kept for so long, s: the removal may have
 * been a slip, and later nobody wants them. */
enum { ORPHAN_SECONDS = 24 * 3600 };

/* One message.  It rests alone when the webhook answered it, so that it holds
 * up no other. */
struct waiting {
	char *name;
	size_t webhook;         /* index into conf.webhooks */
	struct outgoing *held;  /* handed over, and no file yet; else NULL */
	bool known;             /* it was read: parts and replaced are valid */
	struct outgoing_part *parts;
	size_t part_count;
	char (*replaced)[ALERT_ID]; /* of a summary: the ids it stands for */
	size_t replaced_count;
	bool over;              /* all it tells of has cleared unsent: for a summary */
	bool busy;              /* on its way */
	bool done;              /* delivered, and its file cannot be removed ... */
	bool stuck;             /* ... which was logged */
	unsigned tries;         /* that came to nothing */
	double rest_until;      /* monotonic s */
};

enum { SENT_NAMES = 256 };

struct waitings {
	const struct conf *conf;
	const char *folder;
	struct waiting *list;   /* by name: oldest first */
	size_t count;
	char *sent[SENT_NAMES]; /* the latest handed over and delivered, whose file
				 * the watcher may be writing just now */
	size_t sent_next;
	bool fresh;             /* something is new since turn_mark */
	struct log_state blind; /* the folder cannot be listed */
	size_t orphans;         /* last logged */
};

void waitings_clear(struct waitings *waitings);

/* Lists the folder anew; what is known of a message lasts as long as its file.
 * Removes what a summary there stands for, what is delivered already, and what
 * has been waiting too long for a webhook that is gone. */
void waitings_look(struct waitings *waitings);

/* Takes over a message that has no file (yet); *outgoing is moved from.  One
 * that is known already, or for no webhook, is dropped. */
void waitings_hold(struct waitings *waitings, struct outgoing *outgoing);

/* NULL when it went away meanwhile. */
struct waiting *waitings_find(const struct waitings *waitings, const char *name);

/* The whole message.  False with errno as outbox_read; *out is a copy. */
bool waiting_read(const struct waitings *waitings, const struct waiting *waiting,
		  struct outgoing *out);

/* It is delivered or replaced: takes it off the list and its file out of the
 * folder.  A file that stays keeps its entry, marked done. */
void waitings_done(struct waitings *waitings, struct waiting *waiting);

#endif
