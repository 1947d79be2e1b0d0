/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The event loop and the two child processes on it; see loop.h.
 *
 * Before libev waits, every part says what it waits for: a descriptor that
 * may have changed and the time it is due.  So nobody has to remember to
 * re-arm a watcher.
 */
#include "daemon/loop.h"

#include <ev.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "daemon/log.h"
#include "daemon/outbox.h"
#include "daemon/when.h"

enum { LONGEST_WAIT = 3600 }; /* s; libev wants a number */

struct loop {
	struct ev_loop *ev;
	struct watch *watch;
	ev_prepare prepare;
	ev_child child;
	ev_io acknowledged, batch, delivered;
	ev_timer due;
	double longest;         /* s to wait at most this time */
};

/* Watches fd for events, or nothing when it is -1.  Begins anew each time: a
 * pipe opened since may have the number of one closed since, which the kernel
 * has forgotten and libev has not. */
static void watch_fd(struct loop *loop, ev_io *io, int fd, int events)
{
	ev_io_stop(loop->ev, io);
	if (fd >= 0) {
		ev_io_set(io, fd, events);
		ev_io_start(loop->ev, io);
	}
}

static void on_prepare(struct ev_loop *ev, ev_prepare *prepare, int events)
{
	struct loop *loop = prepare->data;
	struct watch *watch = loop->watch;
	double now = when_monotonic();
	double due = feed_step(watch->feed, now);

	(void)events;
	if (watch->postbox) {
		due = fmin(due, postbox_step(watch->postbox, now));
		watch_fd(loop, &loop->delivered, postbox_fd(watch->postbox), EV_READ);
	}
	watch_fd(loop, &loop->acknowledged, feed_ack_fd(watch->feed), EV_READ);
	watch_fd(loop, &loop->batch,
		 feed_wants_write(watch->feed) ? feed_batch_fd(watch->feed) : -1, EV_WRITE);
	ev_timer_stop(ev, &loop->due);
	ev_timer_set(&loop->due, fmin(fmax(due - now, 0), loop->longest), 0);
	ev_now_update(ev);
	ev_timer_start(ev, &loop->due);
}

static void on_acknowledged(struct ev_loop *ev, ev_io *io, int events)
{
	struct loop *loop = io->data;

	(void)ev;
	(void)events;
	feed_readable(loop->watch->feed, when_monotonic());
}

static void on_batch(struct ev_loop *ev, ev_io *io, int events)
{
	struct loop *loop = io->data;

	(void)ev;
	(void)events;
	feed_writable(loop->watch->feed);
}

static void on_delivered(struct ev_loop *ev, ev_io *io, int events)
{
	struct loop *loop = io->data;

	(void)ev;
	(void)events;
	watch_delivered(loop->watch);
}

static void on_child(struct ev_loop *ev, ev_child *child, int events)
{
	struct loop *loop = child->data;
	struct watch *watch = loop->watch;

	(void)ev;
	(void)events;
	if (child->rpid == feed_pid(watch->feed))
		feed_child_died(watch->feed, child->rstatus, when_monotonic());
	else if (watch->postbox && child->rpid == postbox_pid(watch->postbox))
		postbox_child_died(watch->postbox, when_monotonic());
}

/* The prepare watcher does the work; this only ends the waiting. */
static void on_due(struct ev_loop *ev, ev_timer *timer, int events)
{
	(void)ev;
	(void)timer;
	(void)events;
}

struct loop *loop_new(struct watch *watch)
{
	struct ev_loop *ev = ev_default_loop(EVFLAG_AUTO);

	if (!ev) {
		log_error("libev finds no way to wait for events");
		return NULL;
	}
	struct loop *loop = must_calloc(1, sizeof *loop);

	signal(SIGPIPE, SIG_IGN); /* a child that dies is heard of otherwise */
	loop->ev = ev;
	loop->watch = watch;
	loop->longest = LONGEST_WAIT;
	ev_prepare_init(&loop->prepare, on_prepare);
	ev_child_init(&loop->child, on_child, 0, 0);
	ev_io_init(&loop->acknowledged, on_acknowledged, -1, EV_READ);
	ev_io_init(&loop->batch, on_batch, -1, EV_WRITE);
	ev_io_init(&loop->delivered, on_delivered, -1, EV_READ);
	ev_timer_init(&loop->due, on_due, 0, 0);
	loop->prepare.data = loop->child.data = loop->acknowledged.data = loop->batch.data =
		loop->delivered.data = loop;
	ev_prepare_start(ev, &loop->prepare);
	ev_child_start(ev, &loop->child);
	return loop;
}

void loop_free(struct loop *loop)
{
	if (!loop)
		return;
	ev_loop_destroy(loop->ev);
	free(loop);
}

struct ev_loop *loop_ev(struct loop *loop)
{
	return loop->ev;
}

void loop_once(struct loop *loop, double seconds)
{
	loop->longest = seconds;
	ev_run(loop->ev, EVRUN_ONCE);
	loop->longest = LONGEST_WAIT;
}

void loop_drain(struct loop *loop, size_t most)
{
	while (feed_backlog(loop->watch->feed) > most)
		loop_once(loop, LONGEST_WAIT);
}

size_t loop_post(struct loop *loop, double seconds)
{
	double until = when_monotonic() + seconds;
	size_t left = 1;

	while (left > 0 && when_monotonic() < until) {
		char **names = outbox_list(loop->watch->teller.outbox, &left);

		outbox_list_free(names, left);
		if (left > 0)
			loop_once(loop, 1);
	}
	return left;
}
