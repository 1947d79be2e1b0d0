/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Bands and shares; see band.h.  Shares and distances are exact integrals
 * of the straight line, so that degree-hours follow from them (EN 15251
 * Annex F method B, from memory: time weighted by the distance outside).
 */
#include "conf/band.h"

#include <math.h>

struct range band_in(const struct rule *rule, enum daypart part)
{
	switch (part) {
	case DAY:
		return rule->day;
	case NIGHT:
		return rule->night;
	case CHANGEOVER:
		break;
	}
	return (struct range){ .low = fmin(rule->day.low, rule->night.low),
			       .high = fmax(rule->day.high, rule->night.high) };
}

const struct rule *rule_at(const struct rule *rule, const struct day *day,
			   struct daypart_cache *cache, double instant, struct rule *room)
{
	if (rule->season_count == 0)
		return rule;
	return rule_on(rule, cached_daypart(cache, day, instant).date, room);
}

double band_distance(struct range range, double value)
{
	if (value < range.low)
		return value - range.low;
	if (value > range.high)
		return value - range.high;
	return 0;
}

/* For how long, and by how much in all, a line from a to b lies above an
 * edge: time of the positive part and its integral, the line being a
 * trapezoid or, when it crosses, a triangle. */
static void part_above(double a, double b, double edge, double seconds, double *time,
		       double *out)
{
	double from = a - edge, to = b - edge;

	if (from <= 0 && to <= 0)
		return;
	if (from >= 0 && to >= 0) {
		*time += seconds;
		*out += (from + to) / 2 * seconds;
		return;
	}
	double top = fmax(from, to);
	double part = seconds * top / fabs(to - from);

	*time += part;
	*out += top / 2 * part;
}

struct share band_share(struct range range, double a, double b, double seconds)
{
	struct share share = { 0 };

	part_above(a, b, range.high, seconds, &share.above, &share.out);
	part_above(-a, -b, -range.low, seconds, &share.below, &share.out);
	return share;
}
