/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The watcher's end of the courier: starts it, starts it again when it dies,
 * wakes it, hears what was delivered.  Never waits.
 */
#ifndef WARMSIDE_DAEMON_POSTBOX_H
#define WARMSIDE_DAEMON_POSTBOX_H

#include <stdbool.h>
#include <sys/types.h>

#include "daemon/courier.h"
#include "daemon/outbox.h"

struct postbox;

/* folder: the outbox.  Both arguments are borrowed. */
struct postbox *postbox_new(const struct conf *conf, const char *folder);

/* Ends the courier and waits for its end; what is not delivered stays on disk,
 * what it told can still be taken. */
void postbox_end(struct postbox *postbox);

/* The same, and what is not taken is lost.  NULL is allowed. */
void postbox_free(struct postbox *postbox);

/* Starts the courier when one is due and all is taken that the last one told;
 * returns when to be called again
 * (monotonic s, INFINITY when nothing is due). */
double postbox_step(struct postbox *postbox, double now);

/* The folder holds something new. */
void postbox_wake(struct postbox *postbox);

void postbox_send(struct postbox *postbox, struct outgoing *outgoing);
size_t postbox_held(const struct postbox *postbox);

/* The courier's pid, -1 when there is none; the descriptor its results come on,
 * -1 when none can come: it stays when the courier is gone, until
 * postbox_take has found its end. */
pid_t postbox_pid(const struct postbox *postbox);
int postbox_fd(const struct postbox *postbox);

/* Takes one result; false when there is none now. */
bool postbox_take(struct postbox *postbox, struct courier_result *result);

/* The courier died (waitpid said so). */
void postbox_child_died(struct postbox *postbox, double now);

/* Goes on under a new configuration: the courier is ended, and another due. */
void postbox_reload(struct postbox *postbox, const struct conf *conf, double now);

#endif
