/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a drying comes below an edge; see drying_edge.h.
 */
#include "report/drying_edge.h"

#include <math.h>

#include "conf/air.h"

static const double HOUR = 3600;                /* s */

/* Chosen on simulated rooms; no source. */
static const double SMOOTHED = 1800;            /* s: a mean of which decides about an edge */
static const double STAYS = 3 * 3600;           /* s: and most of that afterwards */
static const double AHEAD = 14 * 86400;         /* s: what is foretold at most */

static bool has_edge(const struct ribbon *ribbon, enum drying_edge edge, double instant)
{
	const struct band_record *record = ribbon_record(ribbon, instant);

	return edge == DRYING_BAND ? record->has_band : record->has_limits;
}

/* What it is at most, day and night: only what is below that asks the clock, which
 * costs as much as the fit. */
static double highest(const struct ribbon *ribbon, enum drying_edge edge, double instant)
{
	const struct band_record *record = ribbon_record(ribbon, instant);

	return edge == DRYING_BAND ? fmax(record->day.low, record->night.low) : record->limits.low;
}

/* The edge there is then, %; *until is when it may change. */
static double edge_at(const struct ribbon *ribbon, enum drying_edge edge, double instant,
		      struct in_force *last, double *until)
{
	const struct in_force *now = ribbon_next(ribbon, instant, last);

	*until = now->until;
	return edge == DRYING_BAND ? now->band.low : highest(ribbon, edge, instant);
}

/* The mean humidity of the steps [from, to); INFINITY, which is below no edge, when none of
 * them is known. */
static double mean_humidity(const struct bins *bins, size_t from, size_t to)
{
	double ok = 0, sum = 0;

	for (size_t k = from; k < to; k++) {
		ok += bins->list[k].ok;
		sum += bins->list[k].ok * bins->list[k].humidity;
	}
	return ok > 0 ? sum / ok : INFINITY;
}

/* Most of the known steps [from, to) are below something. */
static bool mostly_below(const struct bins *bins, size_t from, size_t to, double humidity)
{
	size_t known = 0, below = 0;

	for (size_t k = from; k < to; k++) {
		known += bins->list[k].ok > 0;
		below += bins->list[k].ok > 0 && bins->list[k].humidity < humidity;
	}
	return 2 * below > known;
}

/* Below something around a step, and most of the time from then on: an open door is over
 * sooner. */
static bool is_below(const struct bins *bins, const struct drying_steps *steps, size_t i, double humidity)
{
	size_t reach = (size_t)(SMOOTHED / bins->step / 2), stays = (size_t)(STAYS / bins->step);
	size_t from = i > steps->misting + reach ? i - reach : steps->misting;

	return mean_humidity(bins, from, i + reach < steps->end ? i + reach + 1 : steps->end) <
		       humidity &&
	       mostly_below(bins, i, i + stays < steps->end ? i + stays : steps->end, humidity);
}

static bool is_seen(const struct drying_air *air, const struct drying_steps *steps, enum drying_edge edge,
		    double *instant)
{
	const struct ribbon *ribbon = air->ribbon;
	struct in_force last = { 0 };
	double until;

	for (size_t i = steps->first; i < steps->end; i++) {
		*instant = bin_time(air->inside, i);
		if (has_edge(ribbon, edge, *instant) &&
		    is_below(air->inside, steps, i, highest(ribbon, edge, *instant)) &&
		    is_below(air->inside, steps, i,
			     edge_at(ribbon, edge, *instant, &last, &until)))
			return true;
	}
	return false;
}

/* From the end of what was looked at on, along the fit, from one change of the edge to
 * the next; the temperature stays at its mean. */
static bool is_foretold(const struct ribbon *ribbon, const struct drying *drying, enum drying_edge edge,
			double *instant)
{
	struct in_force last = { 0 };
	double until;

	if (highest(ribbon, edge, drying->to) <= drying->floor_humidity)
		return false;
	for (double at = drying->to; at < drying->to + AHEAD; at = until) {
		double humidity = edge_at(ribbon, edge, at, &last, &until);
		double above = air_vapour_density(drying->celsius, humidity) - drying->floor;

		if (above <= 0)
			continue;
		*instant = fmax(at, drying->from + HOUR * drying->time_constant *
							   log(drying->drop / above));
		if (*instant < until)
			return *instant < drying->to + AHEAD;
	}
	return false;
}

struct reached drying_reached(const struct drying_air *air, struct drying_steps steps,
			      const struct drying *drying, enum drying_edge edge)
{
	double instant;

	if (is_seen(air, &steps, edge, &instant))
		return (struct reached){ REACH_SEEN, (instant - drying->at) / HOUR };
	if (drying->verdict != DRYING_FITTED || !has_edge(air->ribbon, edge, drying->to))
		return (struct reached){ REACH_UNTOLD, 0 };
	if (is_foretold(air->ribbon, drying, edge, &instant))
		return (struct reached){ REACH_FORETOLD, (instant - drying->at) / HOUR };
	return (struct reached){ REACH_NEVER, 0 };
}
