/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An account -> what there is to be told of it; see matters.h.
 */
#include "report/matters.h"

#include <math.h>
#include <stdlib.h>

static bool matter_of(const struct series_account *series, enum side side, struct matter *out)
{
	double seconds = series->strayed[side], worst = series->farthest[side].value;

	if (seconds <= 0 || isnan(worst))
		return false;
	*out = (struct matter){
		.series = series,
		.side = side,
		.seconds = seconds,
		.worst = worst,
		.weight = seconds * (0.1 + series->depth[side]),
		.beyond_limits = series->beyond[side] > 0,
		.unsafe = series_unsafe(series, side),
	};
	return true;
}

static int worst_first(const void *a, const void *b)
{
	const struct matter *one = a, *other = b;

	if (one->unsafe != other->unsafe)
		return one->unsafe ? -1 : 1;
	return (one->weight < other->weight) - (one->weight > other->weight);
}

/* And within the limits: told in passing. */
static bool is_short(const struct matter *matter, struct window window)
{
	const struct episode *episode = &matter->series->episode;
	bool presses = episode->side == matter->side && series_wears_out(matter->series);

	return matter->seconds < account_short(window) && !matter->beyond_limits && !presses;
}

void matters_find(const struct account *account, const bool wanted[PLACES],
		  const struct series_account *only, struct matters *out)
{
	*out = (struct matters){ 0 };
	for (size_t i = 0; i < account->count; i++)
		for (int side = 0; side < SIDES; side++) {
			const struct series_account *series = &account->series[i];
			struct matter *matter = &out->list[out->count];

			if ((wanted && !wanted[series->series.place]) ||
			    (only && only != series) ||
			    !matter_of(series, (enum side)side, matter))
				continue;
			if (is_short(matter, account->window))
				out->short_seconds += matter->seconds;
			else
				out->count++;
		}
	qsort(out->list, out->count, sizeof *out->list, worst_first);
}
