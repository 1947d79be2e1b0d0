/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The columns of a graph; see curve.h.
 */
#include "report/curve.h"

#include <math.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"

enum {
	COARSE_COLUMN = 300,    /* s: from here on lowest and highest are drawn too */
	MIXED_COLUMN = 2 * 3600, /* s: from here on day and night share a column */
	MIXED_SAMPLES = 24,
	MINUTE = 60,            /* s: a row of the archive; none is finer */
	DAY_SECONDS = 86400,
	COARSEST_MISTING = 1800, /* s a column */
	NIGHT_PIXELS = 5,       /* a narrower day is not shaded */
};

double in_units(double value, enum quantity quantity, enum units units)
{
	return quantity == TEMPERATURE && units == FAHRENHEIT ? fahrenheit_from_celsius(value)
							      : value;
}

/* What the rows say of one column. */
struct column_sum {
	double weight, value;   /* s known, sum of value x s */
	double low, high, out;  /* s, s, °C s or % s */
	double ok;
	double least, most;
};

/* Adds the rows that overlap [from, to); *first is where to look from. */
static struct column_sum sum_column(const struct series_rows *rows, size_t *first, double from,
				    double to)
{
	struct column_sum sum = { .least = INFINITY, .most = -INFINITY };

	while (*first < rows->count && rows->list[*first].to <= from)
		++*first;
	for (size_t i = *first; i < rows->count && rows->list[i].from < to; i++) {
		const struct row *row = &rows->list[i];
		double part = (fmin(row->to, to) - fmax(row->from, from)) / (row->to - row->from);

		sum.ok += row->ok * part;
		sum.low += row->low * part;
		sum.high += row->high * part;
		sum.out += row->out * part;
		if (!row->has_value)
			continue;
		sum.weight += row->ok * part;
		sum.value += row->value * row->ok * part;
		sum.least = fmin(sum.least, row->min);
		sum.most = fmax(sum.most, row->max);
	}
	return sum;
}

/* The band over a column.  Where a column holds hours the ribbon runs from the
 * lowest to the highest edge of the day around it, or day and night would
 * tear it to stripes. */
static struct in_force band_over(const struct ribbon *ribbon, double from, int step,
				 struct in_force *last)
{
	double middle = from + step / 2.0;
	struct in_force all = *ribbon_next(ribbon, middle, last);

	if (step < MIXED_COLUMN)
		return all;
	all.has_band = false;
	for (int i = 0; i < MIXED_SAMPLES; i++) {
		double sample = middle + (i - MIXED_SAMPLES / 2.0) * DAY_SECONDS / MIXED_SAMPLES;
		struct in_force at = *ribbon_next(ribbon, sample, last);

		if (!at.has_band)
			continue;
		if (!all.has_band)
			all.band = at.band;
		all.has_band = true;
		all.band.low = fmin(all.band.low, at.band.low);
		all.band.high = fmax(all.band.high, at.band.high);
	}
	return all;
}

/* The limit of one row on a side, and how far beyond it the row was. */
struct limit_seen {
	double limit, extreme, past;
};

/* Whether that row says more of the limit than the one seen before. */
static bool tells_more(const struct limit_seen *one, const struct limit_seen *before, enum side side)
{
	if (isnan(before->limit))
		return true;
	if (one->past > 0 || before->past > 0)
		return one->past > before->past;
	return side == BELOW ? one->extreme < before->extreme : one->extreme > before->extreme;
}

/* The limit a column has where another begins to hold within it: that of the row farthest
 * beyond its own, or, when none is, of the farthest row; so that what is drawn as beyond is
 * just what was.  NaN without any. */
static double limit_within(const struct series_rows *rows, size_t first, double to,
			   const struct ribbon *ribbon, enum side side)
{
	struct limit_seen told = { .limit = NAN };
	struct in_force last = { 0 };

	for (size_t i = first; i < rows->count && rows->list[i].from < to; i++) {
		const struct row *row = &rows->list[i];
		const struct in_force *then =
			ribbon_next(ribbon, (row->from + row->to) / 2, &last);
		struct limit_seen seen = { side == BELOW ? then->limits.low : then->limits.high,
					   side == BELOW ? row->min : row->max, 0 };

		if (!row->has_value || !then->has_limits)
			continue;
		if (row_seconds_out(row, side) > 0)
			seen.past = side == BELOW ? seen.limit - seen.extreme
						  : seen.extreme - seen.limit;
		if (tells_more(&seen, &told, side))
			told = seen;
	}
	return told.limit;
}

/* What was out in a column reaches from the reading to the band's edge; in
 * mixed columns, where the edge is not that of the moment, at least as deep
 * as it was in the mean. */
static void fill_out(struct curve *curve, size_t c, const struct column_sum *sum,
		     struct range band)
{
	double **layers = curve->layers;
	bool mixed = curve->step >= MIXED_COLUMN;
	double depth = mixed && sum->low + sum->high > 0 ? sum->out / (sum->low + sum->high) : 0;
	double mean = sum->value / sum->weight;
	double under = curve->coarse ? sum->least : mean, over = curve->coarse ? sum->most : mean;

	if (sum->low > 0 && fmax(band.low, under + depth) > under) {
		layers[LAYER_UNDER_FROM][c] = under;
		layers[LAYER_UNDER_TO][c] = fmax(band.low, under + depth);
	}
	if (sum->high > 0 && fmin(band.high, over - depth) < over) {
		layers[LAYER_OVER_FROM][c] = fmin(band.high, over - depth);
		layers[LAYER_OVER_TO][c] = over;
	}
}

static void fill_column(struct curve *curve, size_t c, const struct column_sum *sum,
			const struct in_force *force)
{
	double **layers = curve->layers;

	for (int layer = 0; layer < LAYERS; layer++)
		layers[layer][c] = NAN;
	if (force->night && curve->nights)
		layers[LAYER_NIGHT][c] = 1;
	if (force->has_band) {
		layers[LAYER_BAND_LOW][c] = force->band.low;
		layers[LAYER_BAND_HIGH][c] = force->band.high;
	}
	if (force->has_limits) {
		layers[LAYER_LIMIT_LOW][c] = force->limits.low;
		layers[LAYER_LIMIT_HIGH][c] = force->limits.high;
	}
	if (sum->weight <= 0) {
		layers[LAYER_UNKNOWN][c] = 1;
		return;
	}
	layers[LAYER_LINE][c] = sum->value / sum->weight;
	layers[LAYER_LEAST][c] = sum->least;
	layers[LAYER_MOST][c] = sum->most;
	if (force->has_band)
		fill_out(curve, c, sum, force->band);
}

static void convert(struct curve *curve, enum quantity quantity, enum units units)
{
	for (int layer = 0; layer < LAYER_UNKNOWN; layer++)
		for (size_t c = 0; c < curve->columns; c++)
			curve->layers[layer][c] =
				in_units(curve->layers[layer][c], quantity, units);
}

/* s a column: never less than a pixel or than the archive's minutes, a round
 * time where it is told of, and whole days where day and night would only make
 * a saw of the line. */
static int column_step(double pixel)
{
	int round_to = pixel >= MIXED_COLUMN                        ? DAY_SECONDS
		       : pixel >= COARSE_COLUMN || pixel <= MINUTE ? MINUTE
								   : 1;

	return (int)fmax(1, ceil(pixel / round_to)) * round_to;
}

void curve_make(const struct series_rows *rows, const struct ribbon *ribbon, struct window window,
		int width, enum units units, struct curve *out)
{
	double span = window.to - window.from;
	int step = column_step(span / width);
	/* At multiples of the step, so that windows side by side have the same columns. */
	long from = (long)floor(window.from / step) * step;
	size_t first = 0;
	struct in_force last = { 0 };

	*out = (struct curve){
		.from = from,
		.step = step,
		.columns = (size_t)ceil((window.to - (double)from) / step),
		.coarse = step >= COARSE_COLUMN,
		.nights = DAY_SECONDS / (span / width) >= 2 * NIGHT_PIXELS,
	};
	for (int layer = 0; layer < LAYERS; layer++)
		out->layers[layer] = must_calloc(out->columns, sizeof(double));
	for (size_t c = 0; c < out->columns; c++) {
		double at = (double)from + (double)c * step;
		struct column_sum sum = sum_column(rows, &first, at, at + step);
		struct in_force force = band_over(ribbon, at, step, &last);

		fill_column(out, c, &sum, &force);
		if (sum.weight > 0 && ribbon_ends(ribbon, (struct window){ at, at + step }).limits_moved)
			for (int side = 0; side < SIDES; side++)
				out->layers[LAYER_LIMIT_LOW + side][c] =
					limit_within(rows, first, at + step, ribbon, (enum side)side);
	}
	convert(out, rows->series.quantity, units);
}

void curve_clear(struct curve *curve)
{
	for (int layer = 0; layer < LAYERS; layer++)
		free(curve->layers[layer]);
	*curve = (struct curve){ 0 };
}

bool curve_shows_mistings(const struct curve *curve)
{
	return curve->step <= COARSEST_MISTING;
}

bool curve_extent(const struct curve *curve, double *low, double *high)
{
	static const enum layer seen[] = { LAYER_LINE, LAYER_LEAST, LAYER_MOST, LAYER_BAND_LOW,
					   LAYER_BAND_HIGH };

	*low = INFINITY;
	*high = -INFINITY;
	for (size_t i = 0; i < sizeof seen / sizeof *seen; i++)
		for (size_t c = 0; c < curve->columns; c++) {
			*low = fmin(*low, curve->layers[seen[i]][c]);
			*high = fmax(*high, curve->layers[seen[i]][c]);
		}
	return *low <= *high;
}

bool curve_beyond(const struct curve *curve, size_t column, enum side side)
{
	double *const *layers = curve->layers;

	return side == BELOW ? layers[LAYER_UNDER_FROM][column] < layers[LAYER_LIMIT_LOW][column]
			     : layers[LAYER_OVER_TO][column] > layers[LAYER_LIMIT_HIGH][column];
}

bool curve_ever_beyond(const struct curve *curve)
{
	for (size_t c = 0; c < curve->columns; c++)
		if (curve_beyond(curve, c, BELOW) || curve_beyond(curve, c, ABOVE))
			return true;
	return false;
}

size_t curve_level(const struct curve *curve, enum layer layer, size_t begin, size_t end)
{
	const double *numbers = curve->layers[layer];
	size_t at = begin + 1;

	while (at < end && (isnan(numbers[begin]) ? isnan(numbers[at])
						  : fabs(numbers[at] - numbers[begin]) < 1e-9))
		at++;
	return at;
}

bool curve_run(const struct curve *curve, enum layer layer, size_t *begin, size_t *end)
{
	const double *numbers = curve->layers[layer];

	while (*begin < curve->columns && isnan(numbers[*begin]))
		++*begin;
	*end = *begin;
	while (*end < curve->columns && !isnan(numbers[*end]))
		++*end;
	return *begin < *end;
}
