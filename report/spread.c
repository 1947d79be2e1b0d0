/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Values -> what the next one will do; see spread.h.
 */
#include "report/spread.h"

#include <math.h>
#include <stdlib.h>

static int by_value(const void *a, const void *b)
{
	double one = *(const double *)a, other = *(const double *)b;

	return (one > other) - (one < other);
}

void spread_sort(double *values, size_t count)
{
	qsort(values, count, sizeof *values, by_value);
}

double spread_quantile(const double *sorted, size_t count, double quantile)
{
	double at = quantile * (double)(count + 1) - 1;
	double whole = fmin(fmax(floor(at), 0), (double)(count - 1));
	size_t i = (size_t)whole;
	double part = fmin(fmax(at - whole, 0), 1);

	if (part <= 0 || i + 1 >= count)
		return sorted[i];
	/* Between a value and never: whichever makes the interval wider, and the median sooner. */
	if (isinf(sorted[i + 1]))
		return sorted[quantile > 0.5 ? i + 1 : i];
	return sorted[i] + part * (sorted[i + 1] - sorted[i]);
}

struct spread spread_of(double *values, size_t count)
{
	if (count == 0)
		return (struct spread){ 0 };
	spread_sort(values, count);
	return (struct spread){ count, spread_quantile(values, count, 0.5),
				spread_quantile(values, count, 0.1),
				spread_quantile(values, count, 0.9) };
}
