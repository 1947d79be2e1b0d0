/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How fast a place cools towards the room without heating, from the times when its
 * heating was off: nights with the lamp dark, a thermostat set far back, power cuts.
 *
 * The model is Newton's law of cooling: the excess over the room's temperature falls as
 * exp(-t / time constant).  Pure.
 */
#ifndef WARMSIDE_REPORT_COOLING_H
#define WARMSIDE_REPORT_COOLING_H

#include <stdbool.h>
#include <stddef.h>

#include "report/bins.h"

/* The temperatures of an enclosure and of its room, in the same steps of ten minutes or
 * finer. */
struct cooling_air {
	const struct bins *places;
	size_t count;
	const struct bins *room;
};

struct cooling {
	size_t count;           /* of times it was seen to cool; the others are valid then */
	double median;          /* h: their time constants */
	double quick;           /* h: the quick quarter of them */
};

/* Of places[place].  A time counts when its temperature falls from step to step for at
 * least an hour (half an hour when it ends within 1 °C of the room), by at least 1.5 °C and
 * half the excess, and every other place, too, loses half of its own: a thermostat that
 * heats a little meanwhile, which would make the enclosure look slower than it is in a
 * power cut, keeps that from happening.  The quickest such part of each fall is taken.
 * False, and out->count is 0, when there is none. */
bool cooling_find(const struct cooling_air *air, size_t place, struct cooling *out);

/* Hours until a place that is at `from` has cooled to `limit`, the room being at `room` all
 * the while (°C): time_constant (h) x ln((from - room) / (limit - room)).  0 when it is
 * there already; INFINITY when the room is not colder than the limit. */
double cooling_hours(double time_constant, double from, double room, double limit);

#endif
