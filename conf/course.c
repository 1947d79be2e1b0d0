/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Vapour between mistings; see course.h.
 */
#include "conf/course.h"

#include <math.h>

static double share(double value)
{
	return fmin(fmax(value, 0), 1);
}

struct course_state course_step(const struct course_law *law, struct course_state state,
				const struct course_around *around, double hours)
{
	double rate = law->airing + law->exchange;
	double rest = (law->airing * around->room +
		       law->exchange * state.activity * around->saturated) / rate;
	double left = exp(-rate * hours);
	double mean = rest + (state.vapour - rest) * (1 - left) / (rate * hours);
	double level = mean / around->saturated; /* what the store tends towards */

	state.vapour = rest + (state.vapour - rest) * left;
	state.activity = share(level + (state.activity - level) *
				exp(-law->exchange * around->saturated / law->capacity * hours));
	return state;
}

double course_activity(const struct course_law *law, double vapour,
		       const struct course_around *around)
{
	return share((vapour + law->airing / law->exchange * (vapour - around->room)) /
		     around->saturated);
}
