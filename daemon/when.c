/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The two clocks; see when.h.
 */
#include "daemon/when.h"

#include <time.h>

static double seconds(clockid_t clock)
{
	struct timespec now;

	clock_gettime(clock, &now);
	return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

double when_monotonic(void)
{
	return seconds(CLOCK_MONOTONIC);
}

double when_wall(void)
{
	return seconds(CLOCK_REALTIME);
}
