/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The watcher's end of the courier; see postbox.h.
 */
#include "daemon/postbox.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/child.h"
#include "daemon/log.h"
#include "daemon/outbox.h"
#include "daemon/parcel.h"

enum {
	RESTART_REST = 2,       /* s between two couriers, when one dies */
	WRITE_REST = 1,         /* s between two tries of the disk */
	WRITES_AT_ONCE = 8,     /* each may take a slow card a while */
};

static const double FULL_PIPE_REST = 0.1; /* s */

/* A message without a file. */
struct held {
	struct outgoing message;
	bool handed;            /* to the courier that runs */
};

struct postbox {
	const struct conf *conf;
	const char *folder;
	pid_t pid;
	int wake_fd;            /* -1 without a courier */
	int result_fd;          /* outlives the courier until all is read */
	double start_at;        /* monotonic s; INFINITY while one runs */
	struct parcel_out parcel; /* on its way to the courier */
	bool wake;              /* to be said */
	char *beat;             /* to be handed over; NULL: none */
	struct held *held;      /* oldest first */
	size_t held_count;
	double write_at;        /* monotonic s; the next try of the disk */
	struct log_state holding;
	struct log_state unstarted;
};

struct postbox *postbox_new(const struct conf *conf, const char *folder)
{
	struct postbox *postbox = must_calloc(1, sizeof *postbox);

	*postbox = (struct postbox){
		.conf = conf, .folder = folder, .pid = -1, .wake_fd = -1, .result_fd = -1,
	};
	return postbox;
}

static void close_end(int *fd)
{
	if (*fd >= 0)
		close(*fd);
	*fd = -1;
}

/* What was on its way to a courier that is gone. */
static void pipe_gone(struct postbox *postbox)
{
	close_end(&postbox->wake_fd);
	parcel_drop(&postbox->parcel);
	free(postbox->beat);
	postbox->beat = NULL;
}

void postbox_end(struct postbox *postbox)
{
	pipe_gone(postbox);
	if (postbox->pid > 0) {
		/* It may sit in a name server's silence; nothing is lost by
		 * not asking it twice: messages leave the folder only after
		 * they were delivered. */
		kill(postbox->pid, SIGKILL);
		while (waitpid(postbox->pid, NULL, 0) < 0 && errno == EINTR)
			;
	}
	postbox->pid = -1;
	postbox->start_at = INFINITY;
}

/* ---- what is held in memory --------------------------------------------------- */

static void let_go(struct postbox *postbox, size_t index)
{
	outgoing_clear(&postbox->held[index].message);
	postbox->held_count--;
	memmove(postbox->held + index, postbox->held + index + 1,
		(postbox->held_count - index) * sizeof *postbox->held);
}

static void hold(struct postbox *postbox, struct outgoing *outgoing)
{
	if (postbox->held_count == POSTBOX_MOST) {
		log_warn("too many messages are held in memory; the oldest, %s, is lost",
			 postbox->held[0].message.id);
		let_go(postbox, 0);
	}
	postbox->held =
		must_resize(postbox->held, postbox->held_count + 1, sizeof *postbox->held);
	postbox->held[postbox->held_count++] = (struct held){ .message = *outgoing };
	*outgoing = (struct outgoing){ 0 };
}

static void disk_takes(struct postbox *postbox)
{
	if (postbox->held_count == 0 && log_changed(&postbox->holding, false))
		log_info("the outbox is written again");
}

/* Tries the disk with a few of them, oldest first. */
static void write_held(struct postbox *postbox, double now)
{
	size_t left = WRITES_AT_ONCE;

	if (postbox->held_count == 0 || now < postbox->write_at)
		return;
	while (left > 0 && postbox->held_count > 0 &&
	       outbox_add(postbox->folder, &postbox->held[0].message)) {
		let_go(postbox, 0);
		postbox->wake = true;
		left--;
		disk_takes(postbox);
	}
	postbox->write_at = left > 0 ? now + WRITE_REST : now;
}

static void took(struct postbox *postbox, const struct courier_result *result)
{
	for (size_t i = postbox->held_count; i-- > 0;)
		if (strcmp(postbox->held[i].message.id, result->message) == 0 &&
		    strcmp(postbox->held[i].message.webhook, result->webhook) == 0)
			let_go(postbox, i);
}

size_t postbox_held(const struct postbox *postbox)
{
	return postbox->held_count;
}

void postbox_free(struct postbox *postbox)
{
	if (!postbox)
		return;
	postbox_end(postbox);
	close_end(&postbox->result_fd);
	while (postbox->held_count > 0 &&
	       outbox_add(postbox->folder, &postbox->held[0].message))
		let_go(postbox, 0);
	if (postbox->held_count > 0)
		log_warn("%zu messages are lost: they were held in memory, and the outbox cannot "
			 "be written", postbox->held_count);
	while (postbox->held_count > 0)
		let_go(postbox, 0);
	free(postbox->held);
	free(postbox);
}

/* ---- to the courier ------------------------------------------------------------ */

/* Wraps up a held message.  One that cannot be written down can be neither
 * sent nor stored, ever. */
static bool wrap_held(struct postbox *postbox, size_t index)
{
	char *text = outgoing_text(&postbox->held[index].message);
	bool good = text && parcel_wrap(&postbox->parcel, PARCEL_MESSAGE, text);

	free(text);
	postbox->held[index].handed = good;
	if (!good) {
		log_warn("message %s is too long or no UTF-8; it is lost",
			 postbox->held[index].message.id);
		let_go(postbox, index);
	}
	return good;
}

/* Wraps up what is next; false when there is nothing. */
static bool wrap_next(struct postbox *postbox)
{
	if (postbox->wake) {
		postbox->wake = false;
		return parcel_wrap(&postbox->parcel, PARCEL_WAKE, "");
	}
	for (size_t i = 0; i < postbox->held_count; i++)
		if (!postbox->held[i].handed && wrap_held(postbox, i))
			return true;
	if (!postbox->beat)
		return false;
	bool good = parcel_wrap(&postbox->parcel, PARCEL_BEAT, postbox->beat);

	free(postbox->beat);
	postbox->beat = NULL;
	return good;
}

/* Gives the courier what its pipe takes. */
static void give(struct postbox *postbox)
{
	if (postbox->wake_fd < 0)
		return;
	while (postbox->parcel.bytes || wrap_next(postbox))
		if (!parcel_give(&postbox->parcel, postbox->wake_fd)) {
			if (errno != EAGAIN)
				pipe_gone(postbox); /* waitpid will tell */
			return;
		}
}

bool postbox_send(struct postbox *postbox, struct outgoing *outgoing)
{
	bool stored = outbox_add(postbox->folder, outgoing);

	if (stored) {
		outgoing_clear(outgoing);
		postbox->wake = true;
		disk_takes(postbox);
	} else {
		if (log_changed(&postbox->holding, true))
			log_errno("the outbox cannot be written; messages go out from memory");
		hold(postbox, outgoing);
	}
	give(postbox);
	return stored;
}

void postbox_wake(struct postbox *postbox)
{
	postbox->wake = true;
	give(postbox);
}

void postbox_beat(struct postbox *postbox, const char *body)
{
	if (postbox->wake_fd < 0 || postbox->beat)
		return;
	postbox->beat = must_copy(body);
	give(postbox);
}

/* ---- the courier --------------------------------------------------------------- */

/* Tried again and again, said once. */
static void say_unstarted(struct postbox *postbox)
{
	if (log_changed(&postbox->unstarted, true))
		log_errno("the courier cannot be started, and nothing is posted until it can");
}

static void start_courier(struct postbox *postbox, double now)
{
	int wake[2], result[2];

	postbox->start_at = now + RESTART_REST;
	if (pipe2(wake, O_CLOEXEC) != 0) {
		say_unstarted(postbox);
		return;
	}
	if (pipe2(result, O_CLOEXEC) != 0) {
		say_unstarted(postbox);
		close(wake[0]);
		close(wake[1]);
		return;
	}
	postbox->pid = child_fork((const int[]){ wake[0], result[1] }, 2);
	if (postbox->pid == 0)
		_exit(courier_run(postbox->conf, postbox->folder, wake[0], result[1]));
	close(wake[0]);
	close(result[1]);
	postbox->wake_fd = wake[1];
	postbox->result_fd = result[0];
	fcntl(postbox->wake_fd, F_SETFL, O_NONBLOCK);
	fcntl(postbox->result_fd, F_SETFL, O_NONBLOCK);
	if (postbox->pid < 0) {
		say_unstarted(postbox);
		close_end(&postbox->wake_fd);
		close_end(&postbox->result_fd);
		return;
	}
	postbox->start_at = INFINITY;
	if (log_changed(&postbox->unstarted, false))
		log_info("the courier runs again");
	postbox->wake = false; /* it looks by itself */
	for (size_t i = 0; i < postbox->held_count; i++)
		postbox->held[i].handed = false;
}

static bool wanted(const struct conf *conf)
{
	return conf->webhook_count > 0 || conf->heartbeat.endpoint;
}

double postbox_step(struct postbox *postbox, double now)
{
	double due = INFINITY;

	/* The next one needs a result pipe of its own. */
	if (wanted(postbox->conf)) {
		if (postbox->pid < 0 && postbox->result_fd < 0 && now >= postbox->start_at)
			start_courier(postbox, now);
		due = postbox->start_at;
	}
	write_held(postbox, now);
	give(postbox);
	if (postbox->held_count > 0)
		due = fmin(due, postbox->write_at);
	if (postbox->parcel.bytes)
		due = fmin(due, now + FULL_PIPE_REST);
	return due;
}

pid_t postbox_pid(const struct postbox *postbox)
{
	return postbox->pid;
}

int postbox_fd(const struct postbox *postbox)
{
	return postbox->result_fd;
}

bool postbox_take(struct postbox *postbox, struct courier_result *result)
{
	if (postbox->result_fd < 0)
		return false;
	ssize_t got = read(postbox->result_fd, result, sizeof *result);

	if (got == 0)
		close_end(&postbox->result_fd); /* the courier is gone, and all is heard */
	if (got != sizeof *result)
		return false;
	if (result->word == COURIER_TOOK)
		took(postbox, result);
	return true;
}

void postbox_child_died(struct postbox *postbox, double now)
{
	log_warn("the courier died; starting it again");
	postbox->pid = -1;
	pipe_gone(postbox);
	postbox->start_at = now + RESTART_REST;
}

void postbox_reload(struct postbox *postbox, const struct conf *conf, double now)
{
	postbox_end(postbox);
	postbox->conf = conf;
	postbox->start_at = now;
}
