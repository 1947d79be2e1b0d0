/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> mistings; see mistings.h.
 *
 * A misting brings vapour into the air within minutes: the mean over five minutes
 * (or a row) has risen by RISE within QUICK over the mean of the BASE before.
 * It must have risen both as relative humidity and as vapour density (told in %
 * at the temperature before), for cooling raises the one without any vapour
 * coming in, and warming the other where a wet sensor stays at 100 %.  And it
 * must end higher, by half of RISE in one of them, than it was at any time of
 * EARLIER before, for a door that is opened and shut again lets it fall and come
 * back; the top of another misting, over when that is SPENT, does not count
 * there.  Rises that begin within TOGETHER are one misting.
 *
 * What it cannot tell: a misting of air that is nearly saturated already, or of
 * substrate only, raises no humidity; a door opened just when a misting is SPENT
 * may pass for another one; and without a thermometer quick cooling is taken for
 * vapour.
 */
#include "report/mistings.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"

/* All but COARSEST chosen on simulated rooms; no source. */
static const double RISE = 5;                   /* % */
static const double QUICK = 20 * 60;            /* s */
static const double BASE = 20 * 60;             /* s */
static const double SMOOTHED = 5 * 60;          /* s: one mean */
static const double EARLIER = 2 * 3600;         /* s */
static const double SPENT = 20 * 60;            /* s: a misting's own top is over */
static const double TOGETHER = 45 * 60;         /* s */
static const double TOP_WITHIN = 45 * 60;       /* s from the begin of a rise */
static const double FOOT = 0.25;                /* of a rise: where it has begun */
static const double KNOWN_SHARE = 0.5;          /* of the time a mean is of */
static const double COARSEST = 600;             /* s a row: it must show what is quick */

/* Sums of all rows before one, so that a mean over rows is a difference. */
struct sum {
	double ok;              /* s known */
	double humidity;        /* % s */
	double vapour;          /* g/m³ s; % s without a temperature */
};

struct air {
	const struct series_rows *rows;
	struct sum *before;     /* count + 1 */
};

struct mean {
	bool known;
	double humidity, vapour;
};

/* ---- rows to means -------------------------------------------------------- */

/* The temperature of the very time of a row; false when it is not known.  *at
 * is where to look from. */
static bool temperature_of(const struct series_rows *temperature, const struct row *row,
			   size_t *at, double *celsius)
{
	while (*at < temperature->count && temperature->list[*at].from < row->from)
		++*at;
	if (*at == temperature->count || temperature->list[*at].from > row->from)
		return false;
	*celsius = temperature->list[*at].value;
	return temperature->list[*at].has_value;
}

static bool has_values(const struct series_rows *rows)
{
	for (size_t i = 0; rows && i < rows->count; i++)
		if (rows->list[i].has_value)
			return true;
	return false;
}

/* What a row adds to the sums: nothing when its humidity is unknown, or its
 * temperature where there is one at other times. */
static struct sum worth(const struct row *row, const struct series_rows *temperature, size_t *at)
{
	struct sum sum = { .ok = row->ok, .humidity = row->value * row->ok,
			   .vapour = row->value * row->ok };
	double celsius;

	if (!row->has_value || row->to - row->from > COARSEST)
		return (struct sum){ 0 };
	if (!temperature)
		return sum;
	if (!temperature_of(temperature, row, at, &celsius))
		return (struct sum){ 0 };
	sum.vapour = air_vapour_density(celsius, row->value) * row->ok;
	return sum;
}

static struct air air_of(const struct series_rows *humidity, const struct series_rows *temperature)
{
	struct air air = { humidity, must_calloc(humidity->count + 1, sizeof *air.before) };
	size_t at = 0;

	if (!has_values(temperature))
		temperature = NULL;
	for (size_t i = 0; i < humidity->count; i++) {
		struct sum sum = worth(&humidity->list[i], temperature, &at);

		air.before[i + 1] = (struct sum){ air.before[i].ok + sum.ok,
						  air.before[i].humidity + sum.humidity,
						  air.before[i].vapour + sum.vapour };
	}
	return air;
}

/* Over the rows [from, to). */
static struct mean mean_of(const struct air *air, size_t from, size_t to)
{
	const struct sum *a = &air->before[from], *b = &air->before[to];
	double ok = b->ok - a->ok;

	if (from >= to ||
	    ok < KNOWN_SHARE * (air->rows->list[to - 1].to - air->rows->list[from].from))
		return (struct mean){ 0 };
	return (struct mean){ true, (b->humidity - a->humidity) / ok,
			      (b->vapour - a->vapour) / ok };
}

/* The mean over SMOOTHED, or one row, from row i on; *end is the row behind it. */
static struct mean smoothed(const struct air *air, size_t i, size_t *end)
{
	const struct row *list = air->rows->list;

	for (*end = i + 1; *end < air->rows->count && list[*end - 1].to - list[i].from < SMOOTHED;)
		++*end;
	return mean_of(air, i, *end);
}

/* The first of the rows before i that begin no earlier than that. */
static size_t first_since(const struct air *air, size_t i, double instant)
{
	while (i > 0 && air->rows->list[i - 1].from >= instant)
		i--;
	return i;
}

/* ---- rises ---------------------------------------------------------------- */

struct rise {
	struct mean base, top;
	size_t top_at;          /* the row its top begins with */
	double height;          /* %: the lesser of both, humidity and vapour */
};

/* How much higher another mean is than the base, %: the lesser of what the humidity
 * and what the vapour rose by, that as humidity at the base's temperature. */
static double height_of(const struct mean *base, const struct mean *other)
{
	double vapour = base->vapour > 0 ? (other->vapour - base->vapour) * base->humidity /
						   base->vapour
					 : 0;

	return fmin(other->humidity - base->humidity, vapour);
}

/* The highest rise over what was before row i, as far as `within` from its begin on. */
static struct rise rise_from(const struct air *air, size_t i, double within)
{
	const struct row *list = air->rows->list;
	double begin = list[i].from;
	struct rise rise = { .base = mean_of(air, first_since(air, i, begin - BASE), i) };
	size_t end;

	for (size_t j = i; rise.base.known && j < air->rows->count; j++) {
		struct mean top = smoothed(air, j, &end);

		if (list[end - 1].to > begin + within)
			break;
		if (!top.known)
			continue;

		double height = height_of(&rise.base, &top);

		if (height <= rise.height)
			continue;
		rise.height = height;
		rise.top = top;
		rise.top_at = j;
	}
	return rise;
}

/* It has been as high before, and only comes back. */
static bool comes_back(const struct air *air, size_t i, const struct rise *rise, double since)
{
	double most = 0;
	size_t end;

	for (size_t j = first_since(air, i, since); j < i; j++) {
		struct mean mean = smoothed(air, j, &end);

		if (end <= i && mean.known)
			most = fmax(most, height_of(&rise->base, &mean));
	}
	return rise->height - most < RISE / 2;
}

/* Where the rise begins: behind the last row before its top whose vapour is at
 * its foot still, but not before row i. */
static size_t foot_of(const struct air *air, size_t i, const struct rise *rise)
{
	double foot = rise->base.vapour + FOOT * (rise->top.vapour - rise->base.vapour);
	size_t at = rise->top_at;

	while (at > i) {
		struct mean row = mean_of(air, at - 1, at);

		if (row.known && row.vapour <= foot)
			break;
		at--;
	}
	return at;
}

static void note(struct mistings *out, struct misting misting)
{
	struct misting *last = out->count > 0 ? &out->list[out->count - 1] : NULL;

	if (last && misting.at - last->at <= TOGETHER) {
		last->to = fmax(last->to, misting.to);
		return;
	}
	out->list = must_grow(out->list, out->count, sizeof *out->list);
	out->list[out->count++] = misting;
}

/* Of the row i being looked at: the rows [since, i) are its base, and those before
 * `until` begin within QUICK. */
struct reach {
	size_t since, until;
};

static void reach_row(struct reach *reach, const struct series_rows *rows, size_t i)
{
	const struct row *list = rows->list;

	while (list[reach->since].from < list[i].from - BASE)
		reach->since++;
	while (reach->until < rows->count && list[reach->until].from <= list[i].from + QUICK)
		reach->until++;
}

/* The quick look that spares nearly every row the slow one: does the humidity, whatever
 * the vapour does, rise enough from row i on? */
static bool may_rise(const struct air *air, const double *smooth, size_t i,
		     const struct reach *reach)
{
	struct mean base = mean_of(air, reach->since, i);

	for (size_t j = i; base.known && j < reach->until; j++)
		if (smooth[j] - base.humidity >= RISE)
			return true;
	return false;
}

/* The humidity of smoothed() from each row on; NAN when unknown.  The caller frees. */
static double *smooth_humidity(const struct air *air)
{
	double *smooth = must_calloc(air->rows->count, sizeof *smooth);
	size_t end;

	for (size_t i = 0; i < air->rows->count; i++) {
		struct mean mean = smoothed(air, i, &end);

		smooth[i] = mean.known ? mean.humidity : NAN;
	}
	return smooth;
}

void mistings_find(const struct series_rows *humidity, const struct series_rows *temperature,
		   struct mistings *out)
{
	struct air air = air_of(humidity, temperature);
	double *smooth = smooth_humidity(&air);
	struct reach reach = { 0, 0 };

	*out = (struct mistings){ 0 };
	for (size_t i = 0; i < humidity->count; i++) {
		double begin = humidity->list[i].from, since = begin - EARLIER;
		struct rise rise;

		reach_row(&reach, humidity, i);
		if (!may_rise(&air, smooth, i, &reach))
			continue;
		rise = rise_from(&air, i, QUICK);
		if (rise.height < RISE)
			continue;
		if (out->count > 0)
			since = fmax(since, fmin(out->list[out->count - 1].at + SPENT,
						 begin - SPENT));
		if (comes_back(&air, i, &rise, since))
			continue;

		size_t foot = foot_of(&air, i, &rise);
		struct rise whole = rise_from(&air, foot, TOP_WITHIN);

		note(out, (struct misting){ humidity->list[foot].from, rise.base.humidity,
					    fmax(rise.top.humidity, whole.top.humidity) });
	}
	free(smooth);
	free(air.before);
}

void mistings_clear(struct mistings *mistings)
{
	free(mistings->list);
	*mistings = (struct mistings){ 0 };
}
