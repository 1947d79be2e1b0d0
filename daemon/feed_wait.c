/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When minutes are sent; see feed_wait.h.
 */
#include "daemon/feed_wait.h"

#include <math.h>

static const double SHORTEST = 1; /* s a small batch waits for more */
static const double FIRST = 60;   /* s, after the very first one; doubled up to the longest */

void feed_wait_begin(struct feed_wait *wait, double longest)
{
	*wait = (struct feed_wait){ .longest = longest, .next = SHORTEST, .until = INFINITY };
}

static double begin_waiting(struct feed_wait *wait)
{
	double seconds = wait->next;

	if (!wait->on)
		return SHORTEST;
	wait->next = fmin(fmax(2 * seconds, FIRST), fmax(wait->longest, SHORTEST));
	return seconds;
}

void feed_wait_done(struct feed_wait *wait)
{
	wait->until = INFINITY;
	wait->sending = false;
}

bool feed_wait_over(struct feed_wait *wait, size_t ready, size_t much, bool hurry, double now)
{
	if (!ready) {
		feed_wait_done(wait);
		return false;
	}
	if (wait->until == INFINITY)
		wait->until = now + begin_waiting(wait);
	if (ready >= much || now >= wait->until || hurry)
		wait->sending = true;
	return wait->sending;
}
