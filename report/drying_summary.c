/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How an enclosure dries; see drying_summary.h.
 */
#include "report/drying_summary.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "report/tendency.h"

enum { DAY = 86400 };

/* A trend is told from so many dryings over so long on, when chance alone is so unlikely and
 * it comes to so much; chosen, no source. */
static const size_t TREND_DRYINGS = 10;
static const double TREND_SPAN = 14 * DAY;
static const double TREND_CHANCE = 0.02;  /* 5 of 100 by chance at most: tests/dryings.c */
static const double TREND_CHANGE = 0.15;

static const double DRY_QUARTER = 0.25;
enum { LEAST_QUARTER = 4 }; /* dryings: of fewer none is a quarter */

/* Something of a drying; false when it has none. */
typedef bool take_value(const struct drying *drying, double *out);

static size_t gather_values(const struct drying *list, size_t count, take_value *take, double *out)
{
	size_t found = 0;

	for (size_t i = 0; i < count; i++)
		if (take(&list[i], &out[found]))
			found++;
	return found;
}

static bool take_time_constant(const struct drying *drying, double *out)
{
	*out = drying->time_constant;
	return drying->verdict == DRYING_FITTED;
}

static bool take_air_changes(const struct drying *drying, double *out)
{
	*out = drying->air_changes;
	return drying->verdict == DRYING_FITTED && drying->has_air_changes;
}

static bool take_reached(const struct reached *reached, double *out)
{
	*out = reached->reach == REACH_NEVER ? INFINITY : reached->hours;
	return reached->reach != REACH_UNTOLD;
}

static bool take_edge(const struct drying *drying, double *out)
{
	return take_reached(&drying->edge, out);
}

static bool take_limit(const struct drying *drying, double *out)
{
	return take_reached(&drying->limit, out);
}

static bool is_watched(const struct drying *drying)
{
	return drying->verdict != DRYING_GAPS && drying->verdict != DRYING_WET;
}

/* Which came below it, and how many of the first and the last third of them. */
static void count_seen(const struct drying *list, size_t count, bool of_limit,
		       struct drying_reach *out)
{
	size_t n = 0;

	for (size_t i = 0; i < count; i++)
		out->watched += is_watched(&list[i]);
	out->third = out->watched / 3;
	for (size_t i = 0; i < count; i++) {
		const struct reached *reached = of_limit ? &list[i].limit : &list[i].edge;
		bool seen = reached->reach == REACH_SEEN;

		if (!is_watched(&list[i]))
			continue;
		out->seen += seen;
		out->first_seen += seen && n < out->third;
		out->last_seen += seen && n >= out->watched - out->third;
		n++;
	}
}

static struct drying_reach reach_of(const struct drying *list, size_t count, bool of_limit,
				    double *values)
{
	size_t found = gather_values(list, count, of_limit ? take_limit : take_edge, values);
	struct drying_reach reach = { .spread = spread_of(values, found),
				      .has_dry = found >= LEAST_QUARTER };

	if (reach.has_dry)
		reach.dry = spread_quantile(values, found, DRY_QUARTER);
	count_seen(list, count, of_limit, &reach);
	return reach;
}

/* How long they were, and what that shows of a day. */
static void take_lengths(const struct drying *list, size_t count, struct drying_summary *out)
{
	for (size_t i = 0; i < count; i++) {
		double hours = (list[i].to - list[i].at) / 3600;
		bool seen = list[i].edge.reach == REACH_SEEN;

		if (is_watched(&list[i]) && hours > out->longest) {
			out->longest = hours;
			out->longest_at = i;
		}
		if (!is_watched(&list[i]) || hours < DRYING_LONG)
			continue;
		out->long_count++;
		out->long_held += !seen || list[i].edge.hours >= DRYING_DAY;
	}
}

/* ---- the floor ----------------------------------------------------------------- */

/* What reaches the floor of a change of the room's air: as much as of all exchange is with the
 * room, by the law, else by what is known of it, which is a lower bound. */
static bool room_share(const struct dryings *dryings, const struct drying *drying, double *out)
{
	const struct course_law *law = &dryings->law;

	*out = dryings->has_law ? law->airing / (law->airing + law->exchange)
				: fmin(drying->air_changes * drying->time_constant, 1);
	return dryings->has_law || drying->has_air_changes;
}

/* Floors as they would be in the room's present air, each at the mean temperature it was told
 * at: a drying by night and a day's mean are not to be compared; returns how many. */
static size_t moved_floors(const struct dryings *dryings, double *out)
{
	size_t found = 0;

	for (size_t i = 0; i < dryings->count; i++) {
		const struct drying *d = &dryings->list[i];
		double share;

		if (d->verdict != DRYING_FITTED || !d->has_room || !room_share(dryings, d, &share))
			continue;
		double density = fmax(d->floor + share * (dryings->room - d->room), 0);

		out[found++] = fmin(air_humidity_at(d->celsius, density), 100);
	}
	return found;
}

static bool take_floor_humidity(const struct drying *drying, double *out)
{
	*out = drying->floor_humidity;
	return drying->verdict == DRYING_FITTED;
}

static void take_floor(const struct dryings *dryings, double *values, struct drying_summary *out)
{
	size_t count = gather_values(dryings->list, dryings->count, take_floor_humidity, values);

	out->has_floor = count > 0;
	out->floor_humidity = out->floor_median = spread_of(values, count).median;
	count = dryings->has_room ? moved_floors(dryings, values) : 0;
	out->floor_is_moved = count > 0;
	if (count > 0)
		out->floor_humidity = spread_of(values, count).median;
}

/* ---- the trend ------------------------------------------------------------------ */

/* The logarithm of one thing of each fitted drying over time. */
static size_t logarithms(const struct drying *list, size_t count, bool of_room,
			 struct moment_value *out)
{
	size_t found = 0;

	for (size_t i = 0; i < count; i++) {
		double value = of_room ? list[i].room : list[i].time_constant;

		if (list[i].verdict == DRYING_FITTED && (!of_room || list[i].has_room) && value > 0)
			out[found++] = (struct moment_value){ list[i].at, log(value) };
	}
	return found;
}

struct drying_trend drying_trend_of(const struct drying *list, size_t count)
{
	struct moment_value *values = must_calloc(count, sizeof *values);
	struct drying_trend trend = { 0 };
	struct tendency tendency;
	size_t found = logarithms(list, count, false, values);

	if (found >= TREND_DRYINGS && tendency_of(values, found, &tendency)) {
		trend.span = values[found - 1].at - values[0].at;
		trend.change = exp(tendency.slope * trend.span) - 1;
		trend.chance = tendency.chance;
		trend.told = trend.span >= TREND_SPAN && trend.chance < TREND_CHANCE &&
			     fabs(trend.change) >= TREND_CHANGE;
	}
	trend.has_room_change = trend.told && tendency_of(values, logarithms(list, count, true, values),
							  &tendency);
	if (trend.has_room_change)
		trend.room_change = exp(tendency.slope * trend.span) - 1;
	free(values);
	return trend;
}

/* ---- all of it -------------------------------------------------------------------- */

void drying_summary_of(const struct dryings *dryings, struct drying_summary *out)
{
	const struct drying *list = dryings->list;
	size_t count = dryings->count;
	double *values = must_calloc(count, sizeof *values);

	*out = (struct drying_summary){
		.mistings = count,
		.has_rate = dryings->known > 0,
		.a_day = dryings->known > 0 ? (double)count / (dryings->known / DAY) : 0,
	};
	for (size_t i = 0; i < count; i++)
		out->rejected[list[i].verdict]++;
	out->fitted = out->rejected[DRYING_FITTED];
	out->rejected[DRYING_FITTED] = 0;
	out->time_constant = spread_of(values,
				       gather_values(list, count, take_time_constant, values));
	out->edge = reach_of(list, count, false, values);
	out->limit = reach_of(list, count, true, values);
	take_lengths(list, count, out);
	out->is_unfinished = count && list[count - 1].verdict == DRYING_SHORT;
	out->air_changes = spread_of(values,
				     gather_values(list, count, take_air_changes, values));
	take_floor(dryings, values, out);
	out->trend = drying_trend_of(list, count);
	free(values);
}
