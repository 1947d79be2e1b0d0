/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> totals; see totals.h.
 */
#include "report/totals.h"

#include <math.h>

/* Rounded first and subtracted then, so that what is printed adds up. */
static double to_microsecond(double seconds)
{
	return round(seconds * 1e6) / 1e6;
}

static void add_value(struct totals *totals, const struct row *row, double *weight)
{
	if (!row->has_value)
		return;
	if (!totals->known || row->min < totals->min)
		totals->min = row->min;
	if (!totals->known || row->max > totals->max)
		totals->max = row->max;
	totals->mean += row->value * row->ok;
	*weight += row->ok;
	totals->known = true;
}

struct totals totals_of(const struct series_rows *rows, struct window window, bool has_band)
{
	struct totals totals = { .has_band = has_band };
	double ok = 0, weight = 0;

	for (size_t i = 0; i < rows->count; i++) {
		const struct row *row = &rows->list[i];

		ok += row->ok;
		totals.low += row->low;
		totals.high += row->high;
		totals.degree_hours += row->out / 3600;
		add_value(&totals, row, &weight);
	}
	if (weight > 0)
		totals.mean /= weight;

	double span = to_microsecond(window.to - window.from);

	ok = fmin(to_microsecond(ok), span);
	totals.low = fmin(to_microsecond(totals.low), ok);
	totals.high = fmin(to_microsecond(totals.high), ok - totals.low);
	totals.inside = to_microsecond(ok - totals.low - totals.high);
	totals.unknown = to_microsecond(span - ok);
	return totals;
}
