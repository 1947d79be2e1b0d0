/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The watcher's end of the courier: takes messages into the outbox, starts the
 * courier, starts it again when it dies, wakes it, hears what became of them.
 * What the disk does not take is held in memory and handed to the courier
 * through a pipe: a full disk silences no alert.  Never waits for anybody but
 * the disk.
 */
#ifndef WARMSIDE_DAEMON_POSTBOX_H
#define WARMSIDE_DAEMON_POSTBOX_H

#include <stdbool.h>
#include <sys/types.h>

#include "daemon/courier.h"
#include "daemon/outbox.h"

struct postbox;

/* At most so many messages are held in memory only; then the oldest goes. */
enum { POSTBOX_MOST = 1000 };

/* folder: the outbox.  Both arguments are borrowed. */
struct postbox *postbox_new(const struct conf *conf, const char *folder);

/* Ends the courier and waits for its end; what is not delivered stays on disk,
 * what it told can still be taken. */
void postbox_end(struct postbox *postbox);

/* The same, and what is not taken is lost; what is held gets a last chance to
 * become a file.  NULL is allowed. */
void postbox_free(struct postbox *postbox);

/* Takes a message over (*outgoing is moved from) and wakes the courier.  True
 * when it is in the folder; false when it is held in memory, until it is
 * delivered or the disk takes it. */
bool postbox_send(struct postbox *postbox, struct outgoing *outgoing);

/* How many messages are held in memory only. */
size_t postbox_held(const struct postbox *postbox);

/* Posts a heartbeat with that JSON body to conf.heartbeat.  Never stored;
 * dropped when the last one is still on its way, or no courier runs. */
void postbox_beat(struct postbox *postbox, const char *body);

/* Starts the courier when one is due and all is taken that the last one told,
 * hands it what waits for it, and tries the disk again for what is held;
 * returns when to be called again (monotonic s, INFINITY when nothing is
 * due). */
double postbox_step(struct postbox *postbox, double now);

/* The folder holds something new. */
void postbox_wake(struct postbox *postbox);

/* The courier's pid, -1 when there is none; the descriptor its results come on,
 * -1 when none can come: it stays when the courier is gone, until
 * postbox_take has found its end. */
pid_t postbox_pid(const struct postbox *postbox);
int postbox_fd(const struct postbox *postbox);

/* Takes one result; false when there is none now.  What the courier took is
 * held no longer. */
bool postbox_take(struct postbox *postbox, struct courier_result *result);

/* The courier died (waitpid said so). */
void postbox_child_died(struct postbox *postbox, double now);

/* Goes on under a new configuration: the courier is ended, and another due. */
void postbox_reload(struct postbox *postbox, const struct conf *conf, double now);

#endif
