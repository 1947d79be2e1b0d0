/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Newton's law of cooling; see cooling.h.
 */
#include "report/cooling.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/spread.h"

static const double LEAST_SECONDS = 3600;       /* longer than a door stands open */
static const double LEAST_TO_ROOM = 1800;       /* s, if it ends as cold as the room */
static const double LEAST_FALL = 1.5;           /* °C: far beyond what a probe scatters */
static const double LEAST_SHARE = 0.5;          /* of the excess */
static const double LEAST_EXCESS = 1;           /* °C: two probes differ by less */
static const double QUICK = 0.25;

/* How much warmer than the room a place is, °C; NAN when that is not known. */
static double excess_of(const struct cooling_air *air, size_t place, size_t i)
{
	const struct bins *inside = &air->places[place];
	const struct bin *outside = bin_at(air->room, bin_time(inside, i));

	if (inside->list[i].ok <= 0 || !outside || outside->ok <= 0)
		return NAN;
	return inside->list[i].celsius - outside->celsius;
}

/* Whether the temperature falls from the step before to this one. */
static bool falls(const struct bins *bins, size_t i)
{
	return i > 0 && bins->list[i].ok > 0 && bins->list[i - 1].ok > 0 &&
	       bins->list[i].celsius < bins->list[i - 1].celsius;
}

/* Whether every place has lost enough of its excess from step to step. */
static bool all_cool(const struct cooling_air *air, size_t first, size_t last)
{
	for (size_t place = 0; place < air->count; place++) {
		double left = (1 - LEAST_SHARE) * excess_of(air, place, first);

		if (!(excess_of(air, place, last) <= fmax(left, LEAST_EXCESS)))
			return false;
	}
	return true;
}

/* The regression of y on x, point after point. */
struct line {
	double count, x, y, xx, xy;
};

static void line_add(struct line *line, double x, double y)
{
	line->count += 1;
	line->x += x;
	line->y += y;
	line->xx += x * x;
	line->xy += x * y;
}

static double line_slope(const struct line *line)
{
	return (line->count * line->xy - line->x * line->y) /
	       (line->count * line->xx - line->x * line->x);
}

/* The quickest rate, 1/h, of the parts of a fall that begin at its step `first`; 0 when
 * none is long and deep enough.  The law is taken in its integrated form, the temperature
 * against degree-hours of excess, which holds while the room cools, too. */
static double rate_from(const struct cooling_air *air, size_t place, size_t first, size_t end)
{
	double least = end < air->places[place].count && excess_of(air, place, end) < LEAST_EXCESS
			       ? LEAST_TO_ROOM
			       : LEAST_SECONDS;
	const struct bins *inside = &air->places[place];
	double before = excess_of(air, place, first), degree_hours = 0, quickest = 0;
	struct line line = { 0 };

	for (size_t i = first; i < end; i++) {
		double seconds = (double)(i - first) * inside->step;
		double fall = inside->list[first].celsius - inside->list[i].celsius;
		double excess = excess_of(air, place, i);

		if (i > first)
			degree_hours += (before + excess) / 2 * inside->step / 3600;
		before = excess;
		line_add(&line, degree_hours, -fall);
		if (seconds >= least && fall >= LEAST_FALL && all_cool(air, first, i))
			quickest = fmax(quickest, -line_slope(&line));
	}
	return quickest;
}

/* Behind the last step of the fall that begins at step `first`. */
static size_t end_of(const struct cooling_air *air, size_t place, size_t first)
{
	size_t end = first;

	while (end < air->places[place].count && excess_of(air, place, end) >= LEAST_EXCESS &&
	       (end == first || falls(&air->places[place], end)))
		end++;
	return end;
}

bool cooling_find(const struct cooling_air *air, size_t place, struct cooling *out)
{
	const struct bins *inside = &air->places[place];
	double *hours = must_calloc(inside->count + 1, sizeof *hours);
	size_t count = 0, end;

	/* Half of the first step of a fall may still be heated: it begins with the next. */
	for (size_t i = 1; i < inside->count; i = end > i ? end : i + 1) {
		double quickest = 0;

		end = falls(inside, i) ? end_of(air, place, i) : i;
		for (size_t first = i; first < end; first++)
			quickest = fmax(quickest, rate_from(air, place, first, end));
		if (quickest > 0)
			hours[count++] = 1 / quickest;
	}
	*out = (struct cooling){ .count = count };
	if (count) {
		spread_sort(hours, count);
		out->median = spread_quantile(hours, count, 0.5);
		out->quick = spread_quantile(hours, count, QUICK);
	}
	free(hours);
	return count > 0;
}

double cooling_hours(double time_constant, double from, double room, double limit)
{
	if (from <= limit)
		return 0;
	if (room >= limit)
		return INFINITY;
	return time_constant * log((from - room) / (limit - room));
}
