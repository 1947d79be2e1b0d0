/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which time to believe; see clock.h.
 */
#include "daemon/clock.h"

#include <math.h>

static void follow(struct clock *clock, double offset)
{
	clock->offset = offset;
	clock->leaping = false;
}

static void consider_leap(struct clock *clock, double offset, double monotonic)
{
	if (!clock->leaping || fabs(offset - clock->leap_offset) > CLOCK_SLACK) {
		clock->leaping = true;
		clock->leap_offset = offset;
		clock->leap_since = monotonic;
	} else if (monotonic - clock->leap_since >= CLOCK_BELIEVE) {
		follow(clock, offset);
	}
}

struct clock_now clock_read(struct clock *clock, double wall, double monotonic)
{
	double offset = wall - monotonic;

	if (!clock->begun) {
		clock->begun = true;
		clock->latest = wall;
		follow(clock, offset);
		return (struct clock_now){ wall, true };
	}
	if (offset - clock->offset > CLOCK_SLACK)
		consider_leap(clock, offset, monotonic);
	else
		follow(clock, offset);

	double time = monotonic + clock->offset;

	if (time < clock->latest) {
		clock->behind = true;
		return (struct clock_now){ clock->latest, false };
	}
	clock->behind = false;
	clock->latest = time;
	return (struct clock_now){ time, true };
}
