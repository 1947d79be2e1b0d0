/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Turns of a feed's loop; see feed_pump.h.
 */
#include "tests/feed_pump.h"

#include <math.h>
#include <poll.h>
#include <sys/wait.h>
#include <time.h>

double pump_clock(double speed)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return speed * ((double)now.tv_sec + 1e-9 * (double)now.tv_nsec);
}

bool pump_at(struct feed *feed, double now, int wait_ms)
{
	struct pollfd fds[2] = {
		{ .fd = feed_ack_fd(feed), .events = POLLIN },
		{ .fd = feed_wants_write(feed) ? feed_batch_fd(feed) : -1, .events = POLLOUT },
	};
	int status;

	poll(fds, 2, wait_ms);
	if (fds[0].revents)
		feed_readable(feed, now);
	if (fds[1].revents)
		feed_writable(feed);
	if (feed_pid(feed) && waitpid(feed_pid(feed), &status, WNOHANG) == feed_pid(feed))
		feed_child_died(feed, status, now);
	return fds[0].revents & POLLIN;
}

bool pump(struct feed *feed, double speed, int wait_ms)
{
	double due = feed_step(feed, pump_clock(speed));
	double ms = fmax(0, (due - pump_clock(speed)) / speed * 1000);

	return pump_at(feed, pump_clock(speed), ms < wait_ms ? (int)ceil(ms) : wait_ms);
}

bool pump_until(struct feed *feed, double speed, double seconds, bool (*done)(void *context),
		void *context)
{
	double end = pump_clock(1) + seconds;

	while (!done(context)) {
		if (pump_clock(1) > end)
			return false;
		pump(feed, speed, 10);
	}
	return true;
}

bool pump_empty(void *feed)
{
	return feed_backlog(feed) == 0;
}

bool pump_closed(void *feed)
{
	return feed_closed(feed);
}

bool pump_hello(void *feed)
{
	double end;

	return feed_archive_end(feed, &end);
}
