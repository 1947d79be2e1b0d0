/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Least squares over the last ten minutes; see trend.h.
 */
#include "daemon/trend.h"

#include <math.h>
#include <string.h>

enum {
	TICKS = 16,             /* to the s */
	KNOWN_BINS = 6,
	KNOWN_COVER = 480,      /* s */
	FASTEST = 180,          /* s: how long a step may take */
};

/* °C by which the fastest stretch may exceed half of the whole move: 3.5 times
 * a noise of 0.2. */
static const double step = 0.7;

/* °C: the least scatter of a bin that is believed, however well the few bins
 * happen to lie on a line. */
static const double least_scatter = 0.1;

/* A bin is closed by the reading that fills it, not by the one after it: at a
 * poll a minute that would be a minute lost.  A little less than full will
 * do, because polls are not exact. */
static const double nearly_full = 0.9 * TREND_BIN;

/* At least so much nearer than ten minutes ago, as a share of what is left: a
 * straight line that arrives in 15 min has come nearer by two thirds. */
static const double nearer = 1.0 / 3;

/* Where in the ring a closed bin is, counted from the eldest. */
static unsigned place_of(const struct trend *trend, unsigned index)
{
	unsigned place = trend->first + index;

	return place < TREND_BINS ? place : place - TREND_BINS;
}

static const struct trend_bin *bin(const struct trend *trend, unsigned index)
{
	return &trend->bins[place_of(trend, index)];
}

static uint32_t ticks_of(double time)
{
	return (uint32_t)(int64_t)(time * TICKS);
}

/* From a to b, s. */
static double between(const struct trend_bin *a, const struct trend_bin *b)
{
	return (double)(int32_t)(b->ticks - a->ticks) / TICKS;
}

/* What is too old for the trend still says where the value has been. */
static void retire_eldest(struct trend *trend)
{
	const struct trend_bin eldest = *bin(trend, 0);
	const double age = (double)(int32_t)(eldest.ticks - trend->past_from) / TICKS;
	struct trend_extremes *now = &trend->past[0];

	trend->first = (unsigned char)place_of(trend, 1);
	trend->count--;
	if (!now->known || age >= TREND_PAST || age < 0) {
		memmove(now + 1, now, (TREND_PASTS - 1) * sizeof *now);
		*now = (struct trend_extremes){ true, eldest.value, eldest.value };
		trend->past_from = eldest.ticks;
	}
	if (eldest.value < now->low)
		now->low = eldest.value;
	if (eldest.value > now->high)
		now->high = eldest.value;
}

/* Whether the value has not been there for an hour or more: what comes back
 * from an opened door does not lead on. */
static bool new_ground(const struct trend *trend, double sign, double value)
{
	for (int i = 0; i < TREND_PASTS; i++)
		if (trend->past[i].known && (sign > 0 ? value <= (double)trend->past[i].high
						      : value >= (double)trend->past[i].low))
			return false;
	return true;
}

/* The open bin becomes the newest closed one. */
static void close_bin(struct trend *trend)
{
	const double share = 1.0 / trend->readings;
	const struct trend_bin closed = { ticks_of(trend->opened + trend->time_sum * share),
					  (float)(trend->value_sum * share) };

	while (trend->count && (trend->count == TREND_BINS ||
				between(bin(trend, 0), &closed) > TREND_WINDOW))
		retire_eldest(trend);
	trend->bins[place_of(trend, trend->count++)] = closed;
	trend->readings = 0;
}

bool trend_take(struct trend *trend, double gap, struct sample reading)
{
	double spacing = trend->last > 0 ? reading.time - trend->last : 0;

	if (spacing > gap) {
		trend->readings = trend->count = 0;
		spacing = 0;
	}
	if (!trend->readings) {
		trend->opened = reading.time;
		trend->time_sum = trend->value_sum = 0;
	}
	const double covered = reading.time - trend->opened;

	trend->time_sum += covered;
	trend->value_sum += reading.value;
	trend->readings++;
	trend->last = reading.time;
	if (covered + spacing < nearly_full)
		return false;
	close_bin(trend);
	return true;
}

bool trend_known(const struct trend *trend)
{
	return trend->count >= KNOWN_BINS &&
	       between(bin(trend, 0), bin(trend, trend->count - 1U)) >= KNOWN_COVER;
}

double trend_begins(const struct trend *trend)
{
	const struct trend_bin now = { .ticks = ticks_of(trend->last) };

	return trend->last - between(bin(trend, 0), &now);
}

/* Sums about the means of some bins, times in s. */
struct sums {
	double n, x, y, xx, xy, yy;
};

static struct sums sums_of(const struct trend *trend, unsigned from, unsigned to)
{
	struct sums sums = { .n = (double)to - from };
	const struct trend_bin *start = bin(trend, 0);

	for (unsigned i = from; i < to; i++) {
		sums.x += between(start, bin(trend, i)) / sums.n;
		sums.y += bin(trend, i)->value / sums.n;
	}
	for (unsigned i = from; i < to; i++) {
		double dx = between(start, bin(trend, i)) - sums.x;
		double dy = bin(trend, i)->value - sums.y;

		sums.xx += dx * dx;
		sums.xy += dx * dy;
		sums.yy += dy * dy;
	}
	return sums;
}

struct slope {
	double rate, error;     /* °C/s, and its standard error */
};

/* Ordinary least squares: the slope is Sxy / Sxx, its variance the mean square
 * of the residuals over Sxx; two levels with one slope when there are two
 * groups.  `parameters`: how many were fitted. */
static struct slope slope_of(const struct sums *a, const struct sums *b, double parameters)
{
	double xx = a->xx + b->xx, xy = a->xy + b->xy, yy = a->yy + b->yy;
	double left = fmax(1, a->n + b->n - parameters);
	double square = fmax(0, yy - xy * xy / xx) / left;

	return (struct slope){ xy / xx, sqrt(fmax(square, least_scatter * least_scatter) / xx) };
}

static const struct sums no_sums;

static double whole_move(const struct trend *trend)
{
	return (double)bin(trend, trend->count - 1U)->value - bin(trend, 0)->value;
}

/* The rate towards the limit (`sign`: up or down) of what remains without the
 * fastest stretch; none when that stretch is a step. */
static double rate_without_fastest(const struct trend *trend, double sign)
{
	unsigned from = 0, to = 0;
	double most = -INFINITY;

	for (unsigned i = 0, j = 0; j < trend->count; j++) {
		while (between(bin(trend, i), bin(trend, j)) > FASTEST)
			i++;
		double moved = sign * ((double)bin(trend, j)->value - bin(trend, i)->value);

		if (moved > most) {
			most = moved;
			from = i;
			to = j;
		}
	}
	if (most > sign * whole_move(trend) / 2 + step)
		return -INFINITY;
	struct sums before = sums_of(trend, 0, from + 1), after = sums_of(trend, to, trend->count);
	struct slope rest = slope_of(&before, &after, 3);

	return sign * rest.rate + rest.error;
}

/* The mean rate of the time ahead by what the halves of the trend say.  A first-
 * order approach loses the same share of its rate in every 5 min; that share
 * is believed as far as it is beyond a standard error of either half, and the
 * time ahead is three times as long as a half. */
static double rate_of_halves(const struct trend *trend, double sign)
{
	const unsigned middle = trend->count / 2U;
	const struct sums elder = sums_of(trend, 0, middle);
	const struct sums newer = sums_of(trend, middle, trend->count);
	const struct slope was = slope_of(&elder, &no_sums, 2), is = slope_of(&newer, &no_sums, 2);
	const double most = sign * is.rate + is.error, least = sign * was.rate - was.error;
	const double kept = most < least ? most / least : 1;

	return sign * is.rate * (kept + kept * kept + kept * kept * kept) / 3;
}

/* The rate at which it began, at most.  What has only just begun to move may
 * yet come to rest anywhere. */
static double rate_at_first(const struct trend *trend, double sign)
{
	const struct sums quarter = sums_of(trend, 0, trend->count / 4U + 1);
	const struct slope slope = slope_of(&quarter, &no_sums, 2);

	return sign * slope.rate + slope.error;
}

/* Whether the trend, led on, passes the limit; the costly part. */
static bool passes(const struct trend *trend, double sign, double limit)
{
	const struct sums all = sums_of(trend, 0, trend->count);
	const struct slope slope = slope_of(&all, &no_sums, 2);
	const double length = between(bin(trend, 0), bin(trend, trend->count - 1U));
	const double end = all.y + slope.rate * (length - all.x);
	double rate = sign * slope.rate - slope.error;

	rate = fmin(rate, rate_at_first(trend, sign));
	rate = fmin(rate, rate_of_halves(trend, sign));
	rate = fmin(rate, rate_without_fastest(trend, sign));
	return rate > 0 && new_ground(trend, sign, end) &&
	       sign * end + rate * TREND_AHEAD >= sign * limit;
}

int trend_leads(const struct trend *trend, struct range limits)
{
	if (!trend_known(trend))
		return 0;
	const double move = whole_move(trend), sign = move > 0 ? 1 : -1;
	const double limit = move > 0 ? limits.high : limits.low;
	const double left = sign * (limit - (double)bin(trend, trend->count - 1U)->value);

	if (left <= 0 || sign * move < left * nearer || !passes(trend, sign, limit))
		return 0;
	return move > 0 ? 1 : -1;
}

void trend_shift(struct trend *trend, double by)
{
	const double before = trend->last;

	trend->opened += by;
	trend->last += by;
	trend->past_from += ticks_of(trend->last) - ticks_of(before);
	for (unsigned i = 0; i < TREND_BINS; i++)
		trend->bins[i].ticks += ticks_of(trend->last) - ticks_of(before);
}
