/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An outbox, receivers that misbehave on command (tests/partner_hook, each a
 * process of its own) and a courier in a process of its own between them.
 * Everything asserts: what cannot be set up fails the test.
 */
#ifndef WARMSIDE_TESTS_POSTROOM_H
#define WARMSIDE_TESTS_POSTROOM_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include <jansson.h>

#include "daemon/courier.h"
#include "daemon/parcel.h"

enum { POSTROOM_HOOKS = 2 };

struct postroom {
	char folder[40];
	char outbox[64];
	struct webhook webhooks[POSTROOM_HOOKS];
	pid_t receivers[POSTROOM_HOOKS];     /* 0: a webhook without one of ours */
	struct conf conf;
	pid_t courier;                  /* 0: none */
	int wake, result;
	int closed;                     /* socket of a closed port; 0: none */
};

/* Makes the folder and an outbox in it. */
void postroom_open(struct postroom *room);

/* Ends what runs and removes the folder; the courier has to end when its wake
 * pipe does. */
void postroom_close(struct postroom *room);

/* Both as cmocka's set-up and tear-down: *state is the room. */
static inline int postroom_set_up(void **state)
{
	static struct postroom room;

	postroom_open(&room);
	*state = &room;
	return 0;
}

static inline int postroom_tear_down(void **state)
{
	postroom_close(*state);
	return 0;
}

/* A webhook at any endpoint, and one with a receiver behind it; options are
 * partner_hook's, ended by NULL, or NULL.  Both return the webhook's index. */
size_t postroom_webhook(struct postroom *room, const char *name, const char *endpoint);
size_t postroom_receiver(struct postroom *room, const char *name, const char *const *options);

/* A port that nobody else gets and nobody answers at, until a receiver for an
 * existing webhook listens there.  One at a time. */
int postroom_closed_port(struct postroom *room);
void postroom_listen(struct postroom *room, size_t webhook, int port);

/* Puts a message created so many s after a fixed moment into the outbox. */
void postroom_put(struct postroom *room, double created, const char *webhook, const char *id);

/* The same of a message that tells of these alerts ("alert_1", and "-alert_1"
 * when it has cleared; blanks between), and as text for the courier's hand. */
void postroom_tell(struct postroom *room, double created, const char *webhook, const char *id,
		   const char *alerts);
char *postroom_text(double created, const char *webhook, const char *id, const char *alerts,
		    char **name);

/* Starts the courier, its complaints going to a file; wakes it. */
void postroom_start(struct postroom *room);
void postroom_wake(struct postroom *room);

/* Hands the courier a parcel. */
void postroom_hand(struct postroom *room, enum parcel_kind kind, const char *text);

/* The courier's next word, waited for. */
struct courier_result postroom_word(struct postroom *room);

/* Fails the test unless that is the courier's next word, of that message ("":
 * any). */
void postroom_expect(struct postroom *room, enum courier_word word, long status,
		     const char *message);

/* All that the courier has logged; malloc'ed. */
char *postroom_said(const struct postroom *room);

/* A figure from the courier's /proc/PID/status, kB: "VmRSS". */
size_t postroom_memory(const struct postroom *room, const char *what);

/* Waits until the receiver has had so many requests, the outbox holds so many
 * files, or the courier has said that; each returns the s waited, and fails
 * the test after `most` s. */
double postroom_until_received(struct postroom *room, size_t webhook, size_t count, double most);
double postroom_until_left(struct postroom *room, size_t count, double most);
double postroom_until_said(struct postroom *room, const char *text, double most);

/* The webhook-ids of the requests so far, in order, each followed by a blank;
 * malloc'ed. */
char *postroom_ids(const struct postroom *room, size_t webhook);

/* All of the requests so far: an array of {"path", "headers", "body"}, a new
 * reference. */
json_t *postroom_requests(const struct postroom *room, size_t webhook);

/* How often a webhook-id was posted. */
size_t postroom_posts_of(const struct postroom *room, size_t webhook, const char *id);

#endif
