/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What an enclosure is like (conf/course.h), found from days of its air: how it
 * exchanges with the room, and with what is moist in it.  Pure.
 */
#ifndef WARMSIDE_REPORT_LAW_H
#define WARMSIDE_REPORT_LAW_H

#include <stdbool.h>

#include "conf/course.h"
#include "report/bins.h"
#include "report/fit.h"
#include "report/mistings.h"

struct law_draw {
	struct course_law law;
	struct course_state now; /* at the end of the air it was made from */
};

enum { LAW_DRAWS = 28 };

struct law_fit {
	struct course_law law;
	struct course_state now; /* at the end of the air it was made from */
	struct law_draw draws[LAW_DRAWS]; /* laws the air allows as well, drawn from what is
					   * unsure of it, each with the state that goes with it;
					   * the same for the same air */
	double log_covariance[3][3]; /* of the logarithms of airing, exchange, capacity */
	double residual;        /* %: what it leaves of the humidity, root mean square */
	double hours;           /* of air it was made from */
};

/* From all of `inside`, with the mistings in it, each of which begins anew: what it adds is
 * unknown.  Hours in which the room's probe has been silent are not looked at.  False when less
 * than a day can be looked at, when room is NULL (there is no probe: what the room does would be
 * taken for what is moist inside, which then never dries up), or when it cannot be told. */
bool law_find(const struct bins *inside, const struct bins *room, const struct mistings *mistings,
	      struct law_fit *out);

#endif
