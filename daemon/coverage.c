/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How much was known lately; see coverage.h.
 */
#include "daemon/coverage.h"

#include <math.h>

/* After a silence 5 min without a gap lead from `neither` to `steady`. */
static const double patchy = 0.45, neither = 0.5, steady = 0.57, good = 0.85;

void coverage_begin(struct coverage *coverage, double now)
{
	*coverage = (struct coverage){ .share = 1, .last = now, .good = now };
}

void coverage_doubt(struct coverage *coverage)
{
	coverage->share = fmin(coverage->share, neither);
	coverage->last = -INFINITY; /* what counts next ends a silence */
}

void coverage_take(struct coverage *coverage, double longest, double silent, double time)
{
	double gap = time - coverage->last;

	if (gap >= silent)
		coverage_doubt(coverage);
	coverage->last = time;
	if (gap >= silent)
		return;
	if (gap > longest)
		coverage->share *= exp(-gap / COVERAGE_SECONDS);
	else if (coverage->share < 1)
		coverage->share += (1 - coverage->share) * -expm1(-gap / COVERAGE_SECONDS);
	if (coverage->share >= good)
		coverage->good = time;
}

bool coverage_is_patchy(const struct coverage *coverage)
{
	return coverage->share < patchy;
}

bool coverage_is_steady(const struct coverage *coverage)
{
	return coverage->share >= steady;
}

bool coverage_is_good(const struct coverage *coverage)
{
	return coverage->share >= good;
}

void coverage_shift(struct coverage *coverage, double by)
{
	coverage->last += by;
	coverage->good += by;
}
