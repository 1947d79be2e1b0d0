/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether values rise or fall; see tendency.h.
 */
#include "report/tendency.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/spread.h"

enum { MOST_VALUES = 250, LEAST_VALUES = 3, TOGETHER_FROM = 10 }; /* pairs grow with the square */

static const double MOST_TOGETHER = 0.9; /* of a correlation */

/* Sorts them. */
static double median(double *list, size_t count)
{
	spread_sort(list, count);
	return (list[(count - 1) / 2] + list[count / 2]) / 2;
}

/* Medians of groups of neighbours, as equal as can be; returns how many. */
static size_t thin(const struct moment_value *values, size_t count,
		   struct moment_value out[MOST_VALUES])
{
	size_t groups = count < MOST_VALUES ? count : MOST_VALUES;
	double *part = must_calloc(count, sizeof *part);

	for (size_t group = 0; group < groups; group++) {
		size_t from = group * count / groups, to = (group + 1) * count / groups;

		for (size_t i = from; i < to; i++)
			part[i - from] = values[i].value;
		out[group].value = median(part, to - from);
		out[group].at = (values[from].at + values[to - 1].at) / 2;
	}
	free(part);
	return groups;
}

/* What ties take from the variance; sorted values. */
static double ties(const double *sorted, size_t count)
{
	double sum = 0;
	size_t same;

	for (size_t i = 0; i < count; i += same) {
		for (same = 1; i + same < count && sorted[i + same] == sorted[i];)
			same++;
		double t = (double)same;

		sum += t * (t - 1) * (2 * t + 5);
	}
	return sum;
}

/* The rank of each value less the slope, from the middle. */
static double *ranks_of(const struct moment_value *values, size_t count, double slope)
{
	double *ranks = must_calloc(count, sizeof *ranks);

	for (size_t i = 0; i < count; i++)
		for (size_t j = 0; j < count; j++) {
			double more = values[i].value - values[j].value -
				      slope * (values[i].at - values[j].at);

			ranks[i] += ((more > 0) - (more < 0)) / 2.0;
		}
	return ranks;
}

/* Of each with the next, for all that hangs together: 0 where it does not. */
static double correlation_of(const struct moment_value *values, size_t count, double slope)
{
	double *ranks = ranks_of(values, count, slope), n = (double)count;
	double products = 0, squares = 0, r;

	for (size_t i = 0; i < count; i++) {
		squares += ranks[i] * ranks[i];
		products += i ? ranks[i] * ranks[i - 1] : 0;
	}
	free(ranks);
	r = squares > 0 ? products / squares : 0;
	/* A mean and a slope taken out make it less by some (2 + 4 r) / n. */
	return r > -2 / n ? fmin((n * r + 2) / (n - 4), MOST_TOGETHER) : 0;
}

/* By what the variance of the score is more where values hang together. */
static double widened(const struct moment_value *values, size_t count, double slope)
{
	double n = (double)count, r, part = 1, sum = 0;

	if (count < TOGETHER_FROM)
		return 1;
	r = correlation_of(values, count, slope);
	for (double lag = 1; lag < n - 2; lag++) {
		part *= r;
		sum += (n - lag) * (n - lag - 1) * (n - lag - 2) * part;
	}
	return 1 + 2 * sum / (n * (n - 1) * (n - 2));
}

static double chance_of(const struct moment_value *values, size_t count, double score,
			double slope)
{
	double n = (double)count, *sorted = must_calloc(count, sizeof *sorted);

	for (size_t i = 0; i < count; i++)
		sorted[i] = values[i].value;
	spread_sort(sorted, count);

	double variance = (n * (n - 1) * (2 * n + 5) - ties(sorted, count)) / 18;

	free(sorted);
	variance *= widened(values, count, slope);
	if (variance <= 0)
		return 1;
	return erfc(fmax(fabs(score) - 1, 0) / sqrt(variance) / sqrt(2));
}

bool tendency_of(const struct moment_value *values, size_t count, struct tendency *out)
{
	struct moment_value thinned[MOST_VALUES];
	size_t kept = count < LEAST_VALUES ? 0 : thin(values, count, thinned), pairs = 0;
	double *slopes = must_calloc(kept * kept / 2, sizeof *slopes), score = 0;

	for (size_t i = 0; i < kept; i++)
		for (size_t j = i + 1; j < kept; j++) {
			double rise = thinned[j].value - thinned[i].value;

			score += (rise > 0) - (rise < 0);
			if (thinned[j].at > thinned[i].at)
				slopes[pairs++] = rise / (thinned[j].at - thinned[i].at);
		}
	if (pairs > 0) {
		out->slope = median(slopes, pairs);
		out->chance = chance_of(thinned, kept, score, out->slope);
	}
	free(slopes);
	return pairs > 0;
}
