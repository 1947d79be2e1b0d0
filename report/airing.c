/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air changes from a decay; see airing.h.
 */
#include "report/airing.h"

#include <math.h>
#include <stddef.h>

static const double HOUR = 3600;                /* s */
static const double KNOWN_SHARE = 0.5;          /* of a step */
static const double SMOOTHED = 1800;            /* s: one mean */

/* g/m³.  Two probes that are 3 % off each, the other way round, differ by 1.3 g/m³ at 24 °C;
 * common practice, no source. */
static const double LEAST_EXCESS = 1.3;

static const double LEAST_STEPS = 4;
static const double SURE = 2;                   /* standard errors above 0 */

double airing_rate(double first, double last, double hours)
{
	return log(first / last) / hours;
}

double airing_hours(double air_changes, double share)
{
	return airing_rate(1, 1 - share, air_changes); /* the law knows only their product */
}

/* False when one of both is unknown. */
static bool excess_at(const struct bins *inside, const struct bins *room, size_t i, double *excess)
{
	const struct bin *in = &inside->list[i], *out = bin_at(room, bin_time(inside, i));

	if (in->ok < KNOWN_SHARE * inside->step || !out || out->ok < KNOWN_SHARE * room->step)
		return false;
	*excess = in->vapour - out->vapour;
	return true;
}

/* The mean excess over SMOOTHED around step i: that of a step alone would end the decay where
 * its noise is low.  0 when none of it is known. */
static double smoothed(const struct bins *inside, const struct bins *room, size_t i)
{
	size_t reach = (size_t)(SMOOTHED / inside->step / 2);
	size_t from = i > reach ? i - reach : 0;
	double sum = 0, count = 0, excess;

	for (size_t k = from; k <= i + reach && k < inside->count; k++)
		if (excess_at(inside, room, k, &excess)) {
			sum += excess;
			count++;
		}
	return count > 0 ? sum / count : 0;
}

/* Sums of a regression of the concentration y on the excess's integral x. */
struct sums {
	double count, x, y, xx, xy, yy;
};

static void add(struct sums *sums, double x, double y)
{
	sums->count++;
	sums->x += x;
	sums->y += y;
	sums->xx += x * x;
	sums->xy += x * y;
	sums->yy += y * y;
}

/* The slope downwards; false when it is not surely one. */
static bool falls(const struct sums *sums, double *rate)
{
	double xx = sums->xx - sums->x * sums->x / sums->count;
	double xy = sums->xy - sums->x * sums->y / sums->count;
	double yy = sums->yy - sums->y * sums->y / sums->count;
	double left = fmax(yy - xy * xy / xx, 0) / (sums->count - 2);

	*rate = -xy / xx;
	return xx > 0 && *rate > SURE * sqrt(left / xx);
}

bool airing_of(const struct bins *inside, const struct bins *room, struct window window,
	       double *air_changes)
{
	struct sums sums = { 0 };
	double step = inside->step / HOUR, integral = 0, last = 0, last_time = 0, excess, rate;

	for (size_t i = 0; i < inside->count; i++) {
		double time = bin_time(inside, i);

		if (time < window.from || !excess_at(inside, room, i, &excess))
			continue;
		if (time >= window.to || smoothed(inside, room, i) < LEAST_EXCESS)
			break;
		if (sums.count > 0)
			integral += (last + excess) / 2 * (time - last_time) / HOUR;
		add(&sums, integral, inside->list[i].vapour);
		last = excess;
		last_time = time;
	}
	if (sums.count < LEAST_STEPS || !falls(&sums, &rate) || rate * step / 2 >= 1)
		return false;
	/* Between the means of two steps an exponential falls by tanh(A step / 2) times their sum,
	 * not by A step / 2 of it. */
	*air_changes = 2 / step * atanh(rate * step / 2);
	return true;
}
