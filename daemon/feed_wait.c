/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When minutes are sent; see feed_wait.h.
 */
#include "daemon/feed_wait.h"

#include <math.h>

static const double SHORTEST = 1; /* s a small batch waits for more */
static const double FIRST = 60;   /* s, after the very first one; doubled up to the longest */

void feed_wait_begin(struct feed_wait *g, double longest)
{
	*g = (struct feed_wait){ .longest = longest, .next = SHORTEST, .until = INFINITY };
}

static double begin_waiting(struct feed_wait *g)
{
	double wait = g->next;

	if (!g->on)
		return SHORTEST;
	g->next = fmin(fmax(2 * wait, FIRST), fmax(g->longest, SHORTEST));
	return wait;
}

void feed_wait_done(struct feed_wait *g)
{
	g->until = INFINITY;
	g->sending = false;
}

bool feed_wait_over(struct feed_wait *g, size_t ready, size_t much, bool hurry, double now)
{
	if (!ready) {
		feed_wait_done(g);
		return false;
	}
	if (g->until == INFINITY)
		g->until = now + begin_waiting(g);
	if (ready >= much || now >= g->until || hurry)
		g->sending = true;
	return g->sending;
}
