/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Waiting; see await.h.
 */
#include "daemon/await.h"

#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stddef.h>
#include <sys/signalfd.h>

#include "daemon/when.h"

int await_signals(void)
{
	sigset_t set;

	sigemptyset(&set);
	sigaddset(&set, SIGINT);
	sigaddset(&set, SIGTERM);
	sigprocmask(SIG_BLOCK, &set, NULL);
	return signalfd(-1, &set, SFD_CLOEXEC | SFD_NONBLOCK);
}

enum awaited await_input(int fd, int signals, double mono)
{
	struct pollfd on[] = { { .fd = signals, .events = POLLIN }, { .fd = fd, .events = POLLIN } };

	for (;;) {
		double left = fmax(mono - when_monotonic(), 0);
		const struct timespec time = { .tv_sec = (time_t)left,
					       .tv_nsec = (long)((left - floor(left)) * 1e9) };

		/* A signal that stops and continues the program interrupts it. */
		if (ppoll(on, 2, &time, NULL) < 0)
			continue;
		if (on[0].revents)
			return AWAITED_STOP;
		return on[1].revents ? AWAITED_INPUT : AWAITED_TIME;
	}
}
