/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Mean, scatter and trend; see salt_steady.h.
 */
#include "report/salt_steady.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"

static const double MOST_ALIKE = 0.95; /* of a correlation: beyond it a few steps tell nothing */

bool step_known(const struct bins *bins, size_t i)
{
	return bins->list[i].ok >= bins->step / 2;
}

double hang_together(const double *rests, size_t count)
{
	double products = 0, squares = 0;

	for (size_t i = 0; i < count; i++) {
		squares += rests[i] * rests[i];
		products += i ? rests[i] * rests[i - 1] : 0;
	}

	double r = squares > 0 ? fmin(fmax(products / squares, 0), MOST_ALIKE) : 0;

	return sqrt((1 + r) / (1 - r));
}

void steady_make(const struct bins *bins, size_t first, size_t end, struct steady *out)
{
	double *rest = must_calloc(end - first + 1, sizeof *rest);
	double sum = 0, times = 0, across = 0, along = 0, squares = 0;
	size_t count = 0;

	*out = (struct steady){ 0 };
	for (size_t i = first; i < end; i++)
		if (step_known(bins, i)) {
			sum += bins->list[i].humidity;
			times += (double)(i - first);
			out->count++;
		}
	if (out->count < 3) {
		free(rest);
		return;
	}

	double n = (double)out->count, middle = times / n;

	out->mean = sum / n;
	for (size_t i = first; i < end; i++)
		if (step_known(bins, i)) {
			double t = (double)(i - first) - middle;

			across += t * (bins->list[i].humidity - out->mean);
			along += t * t;
		}
	for (size_t i = first; i < end; i++)
		if (step_known(bins, i)) {
			rest[count] = bins->list[i].humidity - out->mean -
				      across / along * ((double)(i - first) - middle);
			squares += rest[count] * rest[count];
			count++;
		}
	out->spread = sqrt(squares / (n - 2));

	double each = out->spread * hang_together(rest, count);

	out->mean_error = each / sqrt(n);
	out->slope = across / along / bins->step * 3600;
	out->slope_error = each / sqrt(along) / bins->step * 3600;
	free(rest);
}

size_t hour_steps(const struct bins *bins)
{
	return (size_t)fmax(round(3600 / bins->step), 1);
}

bool hour_mean(const struct bins *bins, size_t i, double *humidity, double *celsius)
{
	size_t end = i + hour_steps(bins), known = 0;
	double h = 0, c = 0;

	for (size_t at = i; at < end && at < bins->count; at++)
		if (step_known(bins, at)) {
			h += bins->list[at].humidity;
			c += bins->list[at].celsius;
			known++;
		}
	if (2 * known < hour_steps(bins))
		return false;
	*humidity = h / (double)known;
	*celsius = c / (double)known;
	return true;
}
