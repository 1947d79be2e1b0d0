/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Birth of a child process; see child.h.
 */
#include "daemon/child.h"

#include <malloc.h>
#include <signal.h>
#include <stdbool.h>
#include <sys/prctl.h>
#include <unistd.h>

static bool kept(int fd, const int *keep, size_t count)
{
	for (size_t i = 0; i < count; i++)
		if (keep[i] == fd)
			return true;
	return false;
}

/* Closes everything above standard error but what is kept. */
static void close_others(const int *keep, size_t count)
{
	int top = STDERR_FILENO;

	for (size_t i = 0; i < count; i++)
		if (keep[i] > top)
			top = keep[i];
	for (int fd = STDERR_FILENO + 1; fd < top; fd++)
		if (!kept(fd, keep, count))
			close(fd);
	close_range((unsigned)top + 1, ~0U, 0);
}

static void reset_signals(void)
{
	sigset_t none;

	for (int number = 1; number < NSIG; number++)
		signal(number, SIG_DFL);
	signal(SIGPIPE, SIG_IGN);
	signal(SIGHUP, SIG_IGN);
	signal(SIGINT, SIG_IGN);
	sigemptyset(&none);
	sigprocmask(SIG_SETMASK, &none, NULL);
}

pid_t child_fork(const int *keep, size_t count)
{
	pid_t parent = getpid();

	/* What reading the configuration has left free in the heap would stay
	 * with the child for good as soon as the parent uses it again. */
	malloc_trim(0);
	pid_t pid = fork();

	if (pid != 0)
		return pid;
	reset_signals();
	prctl(PR_SET_PDEATHSIG, SIGTERM);
	if (getppid() != parent)
		_exit(1); /* the watcher died before the line above */
	close_others(keep, count);
	return 0;
}
