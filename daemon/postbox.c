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
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/child.h"
#include "daemon/log.h"

enum { RESTART_REST = 2 }; /* s between two couriers, when one dies */

struct postbox {
	const struct conf *conf;
	const char *folder;
	pid_t pid;
	int wake_fd;            /* -1 without a courier */
	int result_fd;          /* outlives the courier until all is read */
	double start_at;        /* monotonic s; INFINITY while one runs */
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

void postbox_end(struct postbox *postbox)
{
	close_end(&postbox->wake_fd);
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

void postbox_free(struct postbox *postbox)
{
	if (!postbox)
		return;
	postbox_end(postbox);
	close_end(&postbox->result_fd);
	free(postbox);
}

static void start_courier(struct postbox *postbox, double now)
{
	int wake[2], result[2];

	postbox->start_at = now + RESTART_REST;
	if (pipe2(wake, O_CLOEXEC) != 0) {
		log_errno("no pipe for the courier");
		return;
	}
	if (pipe2(result, O_CLOEXEC) != 0) {
		log_errno("no pipe for the courier");
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
		log_errno("the courier cannot be started");
		close_end(&postbox->wake_fd);
		close_end(&postbox->result_fd);
		return;
	}
	postbox->start_at = INFINITY;
}

double postbox_step(struct postbox *postbox, double now)
{
	if (postbox->conf->webhook_count == 0)
		return INFINITY;
	/* The next one needs a result pipe of its own. */
	if (postbox->pid < 0 && postbox->result_fd < 0 && now >= postbox->start_at)
		start_courier(postbox, now);
	return postbox->start_at;
}

void postbox_wake(struct postbox *postbox)
{
	if (postbox->wake_fd >= 0 && write(postbox->wake_fd, "", 1) < 0 && errno != EAGAIN)
		log_errno("the courier cannot be woken");
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
	return got == sizeof *result;
}

void postbox_child_died(struct postbox *postbox, double now)
{
	log_warn("the courier died; starting it again");
	postbox->pid = -1;
	close_end(&postbox->wake_fd);
	postbox->start_at = now + RESTART_REST;
}

void postbox_reload(struct postbox *postbox, const struct conf *conf, double now)
{
	postbox_end(postbox);
	postbox->conf = conf;
	postbox->start_at = now;
}

void postbox_send(struct postbox *postbox, struct outgoing *outgoing)
{
	outbox_add(postbox->folder, outgoing);
	outgoing_clear(outgoing);
	postbox_wake(postbox);
}
size_t postbox_held(const struct postbox *postbox)
{
	(void)postbox;
	return 0;
}
