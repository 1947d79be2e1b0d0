/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The archivist as a child process; see archivist_link.h.
 */
#include "daemon/archivist_link.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/archivist.h"
#include "daemon/child.h"

enum { CRASHES = 2 }; /* with one file in hand, before that is set aside */

static const double FIRST_PAUSE = 0.25; /* s; doubled with each death */
static const double LONGEST_PAUSE = 30; /* s */

void archivist_link_init(struct archivist_link *link)
{
	*link = (struct archivist_link){ .batches = -1, .reports = -1, .due = -INFINITY };
	link->in_hand = mmap(NULL, sizeof *link->in_hand, PROT_READ | PROT_WRITE,
			     MAP_SHARED | MAP_ANONYMOUS, -1, 0);
	if (link->in_hand == MAP_FAILED) {
		fputs("out of memory\n", stderr);
		abort();
	}
}

static void close_pipe(int *fd)
{
	if (*fd >= 0)
		close(*fd);
	*fd = -1;
}

static void close_pipes(struct archivist_link *link)
{
	close_pipe(&link->batches);
	close_pipe(&link->reports);
	link->report_size = 0;
}

void archivist_link_end(struct archivist_link *link)
{
	close_pipes(link);
	munmap(link->in_hand, sizeof *link->in_hand);
}

/* Both pipes; false with errno, and none is left open. */
static bool open_pipes(int down[2], int up[2])
{
	if (pipe2(down, O_CLOEXEC) < 0)
		return false;
	if (pipe2(up, O_CLOEXEC) < 0) {
		int error = errno;

		close(down[0]);
		close(down[1]);
		errno = error;
		return false;
	}
	/* A batch then goes in one piece; where that is not allowed, in several. */
	fcntl(down[1], F_SETPIPE_SZ, BATCH_MOST);
	fcntl(down[1], F_SETFL, O_NONBLOCK);
	fcntl(up[0], F_SETFL, O_NONBLOCK);
	return true;
}

/* Like fork(); the child is the archivist and never returns. */
static pid_t give_birth(struct archivist_link *link, const char *state, int batches, int reports)
{
	struct archivist archivist = {
		.state = state,
		.batches = batches,
		.reports = reports,
		.in_hand = link->in_hand,
		.suspect = link->crashes >= CRASHES ? link->crasher : NULL,
	};
	pid_t pid = child_fork((int[]){ batches, reports }, 2);

	if (pid == 0)
		_exit(archivist_run(&archivist));
	if (pid > 0 && archivist.suspect)
		link->crashes = 0;
	return pid;
}

/* The pause grows only while archivists die that have done nothing. */
static void wait_longer(struct archivist_link *link, double now)
{
	link->deaths++;
	link->due = now;
	if (link->deaths >= DEATHS_AT_ONCE)
		link->due += fmin(ldexp(FIRST_PAUSE, (int)(link->deaths - DEATHS_AT_ONCE)),
				  LONGEST_PAUSE);
}

bool archivist_link_start(struct archivist_link *link, const char *state, double now)
{
	int down[2], up[2];
	pid_t pid = -1;
	int error;

	memset(link->in_hand, 0, sizeof *link->in_hand);
	link->useful = false;
	if (open_pipes(down, up)) {
		link->batches = down[1];
		link->reports = up[0];
		pid = give_birth(link, state, down[0], up[1]);
		error = errno;
		close(down[0]);
		close(up[1]);
		errno = error;
	}
	if (pid > 0) {
		link->pid = pid;
		return true;
	}
	error = errno;
	close_pipes(link);
	wait_longer(link, now);
	errno = error;
	return false;
}

void archivist_link_finish(struct archivist_link *link)
{
	close_pipe(&link->batches);
}

bool archivist_link_read(struct archivist_link *link, struct report *report)
{
	while (link->reports >= 0) {
		ssize_t got = read(link->reports, (char *)&link->report + link->report_size,
				   sizeof link->report - link->report_size);

		if (got < 0 && errno == EINTR)
			continue;
		if (got < 0)
			return false;
		if (got == 0) /* it is dead, and will be reaped */
			close_pipe(&link->reports);
		link->report_size += (size_t)got;
		if (link->report_size == sizeof link->report) {
			link->report_size = 0;
			*report = link->report;
			return true;
		}
	}
	return false;
}

/* True for the ways a damaged file or a full disk kills a process. */
static bool killed_by_file(int status)
{
	int number = WIFSIGNALED(status) ? WTERMSIG(status) : 0;

	return number == SIGBUS || number == SIGSEGV || number == SIGFPE || number == SIGABRT;
}

static void note_crash(struct archivist_link *link)
{
	const char *name = link->in_hand->name;

	if (!*name)
		return;
	if (strcmp(name, link->crasher) != 0) {
		snprintf(link->crasher, sizeof link->crasher, "%s", name);
		link->crashes = 0;
	}
	link->crashes++;
}

void archivist_link_died(struct archivist_link *link, int status, double now,
			 char why[ARCHIVE_TEXT])
{
	const char *name = link->in_hand->name;

	if (WIFSIGNALED(status))
		snprintf(why, ARCHIVE_TEXT, "the archivist was killed by signal %d%s%s",
			 WTERMSIG(status), *name ? " with this in hand: " : "", name);
	else
		snprintf(why, ARCHIVE_TEXT, "the archivist ended with status %d",
			 WEXITSTATUS(status));
	close_pipes(link);
	link->pid = 0;
	link->due = now;
	if (killed_by_file(status))
		note_crash(link);
	if (!link->useful)
		wait_longer(link, now);
}
