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

/* (exp(rate t) - 1) / rate, also where the rate is 0. */
static double grown(double rate, double hours)
{
	return rate < 0 ? expm1(rate * hours) / rate : hours;
}

struct course_state course_step(const struct course_law *law, struct course_state state,
				const struct course_around *around, double hours)
{
	/* x' = M x + b, M = (-air, from_store; to_store, -store), whose eigenvalues are real and
	 * apart; x(t) = x + g(M) x', g as above, by Newton's interpolation between the two. */
	double air = law->airing + law->exchange;
	double from_store = law->exchange * around->saturated;
	double to_store = law->exchange / law->capacity;
	double store = to_store * around->saturated;
	double fast = -(air + store + hypot(air - store, 2 * sqrt(from_store * to_store))) / 2;
	double slow = law->airing * store / fast;
	double vapour = law->airing * around->room - air * state.vapour +
			from_store * state.activity;
	double activity = to_store * state.vapour - store * state.activity;
	double g = grown(slow, hours), slope = (grown(fast, hours) - g) / (fast - slow);

	return (struct course_state){
		state.vapour + g * vapour +
			slope * (from_store * activity - (air + slow) * vapour),
		share(state.activity + g * activity +
		      slope * (to_store * vapour - (store + slow) * activity)),
	};
}

double course_activity(const struct course_law *law, double vapour,
		       const struct course_around *around)
{
	return share((vapour + law->airing / law->exchange * (vapour - around->room)) /
		     around->saturated);
}
