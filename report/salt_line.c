/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Points -> a correction; see salt_line.h.
 */
#include "report/salt_line.h"

#include <math.h>
#include <stdio.h>

/* An error of half a percent at one of two points 20 % apart is 1 % at the far end of what
 * enclosures have, 40 % away; nearer ones only magnify what is not known. */
const double salt_least_apart = 20;

/* A probe within 3 % (common practice) at both of two points 40 % apart has a slope within 0.15
 * of 1. */
static const double LEAST_SLOPE = 0.85, MOST_SLOPE = 1.15;

/* %: the second point of a line that is shifted is so far away, and so far from the ends. */
static const double AWAY = 40, EDGE = 1;

static double tenth(double value)
{
	return round(value * 10) / 10;
}

/* What conf/resolve_probe.c refuses, read so that its edges are not met. */
static bool is_refused(const struct correction *correction)
{
	double shift = correction->offset + correction->slope * 50 - 50;

	return !(fabs(shift) < 29.9 && correction->slope > 0.51 && correction->slope < 1.99);
}

struct correction salt_correction(const struct salt_point *points, size_t count)
{
	const struct salt_point *first = &points[0], *second = &points[1];
	double slope = 1;

	if (count > 1)
		slope = (second->actual - first->actual) / (second->read - first->read);
	return (struct correction){ .offset = first->actual - slope * first->read,
				    .slope = slope };
}

/* To one decimal, the dry one first. */
static void arrange(const struct salt_point points[SALT_TESTS], struct salt_point out[SALT_TESTS])
{
	size_t dry = points[0].actual > points[1].actual;

	for (size_t i = 0; i < SALT_TESTS; i++)
		out[i ^ dry] = (struct salt_point){ tenth(points[i].read),
						    tenth(points[i].actual) };
}

static enum salt_line_trouble make_shift(struct salt_point point, struct salt_line *out)
{
	/* Of the difference itself: two roundings would be a tenth too many. */
	double shift = tenth(point.actual - point.read) + 0.0; /* never -0 */

	out->correction = (struct correction){ .offset = shift, .slope = 1 };
	snprintf(out->text, sizeof out->text, "%+.1f %%", shift);
	return is_refused(&out->correction) ? LINE_BROKEN : LINE_GOOD;
}

bool salt_slope_doubtful(double slope)
{
	return slope < LEAST_SLOPE || slope > MOST_SLOPE;
}

/* at: in tenths, the dry one first. */
static enum salt_line_trouble make_points(const struct salt_point at[SALT_TESTS],
					  struct salt_line *out)
{
	out->correction = salt_correction(at, SALT_TESTS);
	snprintf(out->text, sizeof out->text, "%.1f=%.1f %.1f=%.1f", at[0].read, at[0].actual,
		 at[1].read, at[1].actual);
	if (is_refused(&out->correction))
		return LINE_BROKEN;
	return salt_slope_doubtful(out->correction.slope) ? LINE_DOUBTFUL : LINE_GOOD;
}

enum salt_line_trouble salt_line_shift(const struct salt_point *point, double slope,
				       struct salt_line *out)
{
	bool damp = point->read > 50;
	double away = damp ? -fmin(AWAY, fmin(point->read - EDGE, (point->actual - EDGE) / slope))
			   : fmin(AWAY, fmin(100 - EDGE - point->read,
					     (100 - EDGE - point->actual) / slope));
	struct salt_point points[SALT_TESTS] = {
		*point, { point->read + away, point->actual + slope * away }
	}, at[SALT_TESTS];

	arrange(points, at);
	return make_points(at, out);
}

enum salt_line_trouble salt_line_make(const struct salt_point *points, size_t count,
				      struct salt_line *out)
{
	struct salt_point at[SALT_TESTS];

	if (count == 1)
		return make_shift(points[0], out);
	if (fabs(points[1].actual - points[0].actual) < salt_least_apart)
		return LINE_CLOSE;
	arrange(points, at);
	if (at[1].read - at[0].read < 1) /* the damper salt has to read damper */
		return LINE_BROKEN;
	return make_points(at, out);
}
