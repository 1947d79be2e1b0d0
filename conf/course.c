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

/* x' = M x + b, M = (-air, from_store; to_store, -store), whose eigenvalues are real and
 * apart; x(t) = x + g(M) x', g as above, by Newton's interpolation between the two. */
struct course_way course_way(const struct course_law *law, double saturated, double hours)
{
	struct course_way way = {
		.airing = law->airing,
		.air = law->airing + law->exchange,
		.from_store = law->exchange * saturated,
		.to_store = law->exchange / law->capacity,
	};

	way.store = way.to_store * saturated;

	double fast = -(way.air + way.store +
			hypot(way.air - way.store, 2 * sqrt(way.from_store * way.to_store))) / 2;

	way.slow = law->airing * way.store / fast;
	way.grown = grown(way.slow, hours);
	way.slope = (grown(fast, hours) - way.grown) / (fast - way.slow);
	return way;
}

struct course_state course_go(const struct course_way *way, struct course_state state, double room)
{
	double vapour = way->airing * room - way->air * state.vapour +
			way->from_store * state.activity;
	double activity = way->to_store * state.vapour - way->store * state.activity;

	return (struct course_state){
		state.vapour + way->grown * vapour +
			way->slope * (way->from_store * activity - (way->air + way->slow) * vapour),
		share(state.activity + way->grown * activity +
		      way->slope * (way->to_store * vapour - (way->store + way->slow) * activity)),
	};
}

struct course_state course_step(const struct course_law *law, struct course_state state,
				const struct course_around *around, double hours)
{
	struct course_way way = course_way(law, around->saturated, hours);

	return course_go(&way, state, around->room);
}

double course_activity(const struct course_law *law, double vapour,
		       const struct course_around *around)
{
	return share((vapour + law->airing / law->exchange * (vapour - around->room)) /
		     around->saturated);
}
