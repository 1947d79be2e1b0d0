/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> steps; see bins.h.
 */
#include "report/bins.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"

/* Adds up what a row knows; the sums become means at the end. */
static void add(struct bin *bin, const struct row *celsius, const struct row *humidity)
{
	double ok = humidity ? fmin(celsius->ok, humidity->ok) : celsius->ok;

	bin->ok += ok;
	bin->celsius += ok * celsius->value;
	if (!humidity)
		return;
	bin->humidity += ok * humidity->value;
	bin->vapour += ok * air_vapour_density(celsius->value, humidity->value);
}

static void settle(struct bin *bin)
{
	if (bin->ok <= 0)
		return;
	bin->celsius /= bin->ok;
	bin->humidity /= bin->ok;
	bin->vapour /= bin->ok;
}

void bins_make(const struct series_rows *humidity, const struct series_rows *temperature,
	       struct window window, double step, struct bins *out)
{
	double from = floor(window.from / step) * step;
	size_t count = window.to > from ? (size_t)ceil((window.to - from) / step) : 0, at = 0;

	*out = (struct bins){ from, step, must_calloc(count + 1, sizeof *out->list), count };
	for (size_t i = 0; i < temperature->count; i++) {
		const struct row *row = &temperature->list[i], *beside = NULL;
		double middle = (row->from + row->to) / 2;

		if (!row->has_value || middle < from || middle >= from + step * (double)count)
			continue;
		if (humidity) {
			while (at < humidity->count && humidity->list[at].from < row->from)
				at++;
			if (at == humidity->count)
				break;
			beside = &humidity->list[at];
			if (beside->from > row->from || !beside->has_value)
				continue;
		}
		add(&out->list[(size_t)((middle - from) / step)], row, beside);
	}
	for (size_t i = 0; i < count; i++)
		settle(&out->list[i]);
}

void bins_clear(struct bins *bins)
{
	free(bins->list);
	*bins = (struct bins){ 0 };
}

double bin_time(const struct bins *bins, size_t i)
{
	return bins->from + ((double)i + 0.5) * bins->step;
}

const struct bin *bin_at(const struct bins *bins, double instant)
{
	double at = floor((instant - bins->from) / bins->step);

	return at >= 0 && at < (double)bins->count ? &bins->list[(size_t)at] : NULL;
}
