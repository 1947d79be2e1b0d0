/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The event loop: the one thing in the watcher that waits.  It drives the
 * watch's two child processes; live buses, signals and seconds are hung onto
 * the same loop by watcher.c.
 */
#ifndef WARMSIDE_DAEMON_LOOP_H
#define WARMSIDE_DAEMON_LOOP_H

#include <stddef.h>

#include "daemon/watch.h"

struct ev_loop;
struct loop;

/* The loop for an opened watch.  NULL, with a line logged, when libev finds
 * no way to wait. */
struct loop *loop_new(struct watch *watch);
void loop_free(struct loop *loop);

/* libev's side of it. */
struct ev_loop *loop_ev(struct loop *loop);

/* Waits for something to happen, at most so many s, and handles it. */
void loop_once(struct loop *loop, double seconds);

/* Waits until the archivist has acknowledged all but `most` bytes. */
void loop_drain(struct loop *loop, size_t most);

/* Gives the courier so many s to empty the outbox; returns how many messages
 * are left in it. */
size_t loop_post(struct loop *loop, double seconds);

#endif
