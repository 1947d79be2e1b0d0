/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which time to believe; see clock.h.
 */
#include "daemon/clock.h"

#include <math.h>

/* The wall clock says something else by more than the slack.  Returns the
 * jump when it has stood long enough. */
static double consider(struct clock *clock, double offset, double monotonic)
{
	if (!clock->doubtful || fabs(offset - clock->other_offset) > CLOCK_SLACK) {
		clock->doubtful = true;
		clock->other_offset = offset;
		clock->doubt_since = monotonic;
	}
	return monotonic - clock->doubt_since >= CLOCK_BELIEVE ? offset - clock->offset : 0;
}

struct clock_now clock_read(struct clock *clock, double wall, double monotonic)
{
	double offset = wall - monotonic, shift = 0;

	if (!clock->begun) {
		*clock = (struct clock){ .begun = true, .offset = offset, .last = wall,
					 .latest = wall };
	} else if (fabs(offset - clock->offset) > CLOCK_SLACK) {
		shift = consider(clock, offset, monotonic);
	}
	if (shift != 0 || fabs(offset - clock->offset) <= CLOCK_SLACK) {
		clock->offset = offset;
		clock->doubtful = false;
	}
	double time = monotonic + clock->offset;

	clock->last = shift != 0 ? time : fmax(time, clock->last);
	clock->latest = fmax(clock->latest, clock->last);
	return (struct clock_now){ clock->last, shift };
}
