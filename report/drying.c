/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A misting -> how the enclosure dried after it; see drying.h.
 */
#include "report/drying.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "report/airing.h"
#include "report/drying_curve.h"
#include "report/fit.h"

static const double HOUR = 3600;                /* s */

/* Chosen on simulated dryings; no source. */
static const double TOP_WITHIN = 45 * 60;       /* s: what was sprayed still evaporates */
static const double LONGEST = 7 * 86400;        /* s */
static const double SHORTEST = 2 * 3600;        /* s */
static const double SMOOTHED = 1800;            /* s: a mean of which decides about an edge */
static const double KNOWN_SHARE = 0.6;          /* of the time */
static const double WET = 99;                   /* %: the probe itself is wet */
static const double WET_SHARE = 0.25;           /* of the time */
static const double LEAST_FALL = 0.02;          /* of the vapour at the top */
static const double MOST_ERROR = 0.5;           /* of the time constant */
static const double LEFT_OUT_SHARE = 0.25;      /* of the steps */
static const double MOST_OFF = 0.35;            /* of the drop: a step's distance from the curve */
static const double ENOUGH = 3;                 /* time constants: not too short */
static const double FALLEN = 2;                 /* time constants: 86 % of the drop */
static const double AHEAD = 14 * 86400;         /* s: what is foretold at most */
static const double INSIDE = 0.8;

/* What there is to look at: the steps [first, end), those from the misting on included. */
struct span {
	size_t misting, first, end;
	size_t known, wet;      /* of the steps from the misting on */
};

static bool is_known(const struct bin *bin)
{
	return bin->ok > 0;
}

static bool is_wet(const struct bin *bin)
{
	return is_known(bin) && bin->humidity >= WET;
}

static double begin_of(const struct bins *bins, size_t i)
{
	return bins->from + (double)i * bins->step;
}

/* The step an instant lies in, as far as there are any. */
static size_t index_of(const struct bins *bins, double instant)
{
	return (size_t)fmin(fmax(floor((instant - bins->from) / bins->step), 0),
			    (double)bins->count);
}

/* The drying begins behind the step of the highest vapour, for one chosen as the highest lies
 * above the curve; and when the probe was wet then, behind that and a step in which it
 * dries itself. */
static size_t behind_top(const struct bins *bins, const struct span *span, double at)
{
	size_t top = span->misting, behind;

	for (size_t i = top; i < span->end && begin_of(bins, i) < at + TOP_WITHIN; i++)
		if (is_known(&bins->list[i]) && (!is_known(&bins->list[top]) ||
						 bins->list[i].vapour > bins->list[top].vapour))
			top = i;
	behind = top + 1;
	if (behind < span->end && is_wet(&bins->list[behind])) {
		while (behind < span->end && is_wet(&bins->list[behind]))
			behind++;
		behind++;
	}
	return behind < span->end ? behind : span->end;
}

static struct span span_of(const struct bins *bins, double at, double end)
{
	struct span span = { index_of(bins, at), 0,
			     index_of(bins, fmin(end, at + LONGEST)), 0, 0 };

	span.misting = span.misting < span.end ? span.misting : span.end;
	span.first = behind_top(bins, &span, at);
	for (size_t i = span.misting; i < span.end; i++) {
		span.known += is_known(&bins->list[i]);
		span.wet += is_wet(&bins->list[i]);
	}
	return span;
}

/* Why it need not be fitted at all; DRYING_FITTED when it may be. */
static enum drying_verdict before_fit(const struct bins *bins, const struct span *span)
{
	double steps = (double)(span->end - span->misting);

	if (steps * bins->step < SHORTEST)
		return DRYING_SHORT;
	if ((double)span->known < KNOWN_SHARE * steps)
		return DRYING_GAPS;
	if ((double)span->wet > WET_SHARE * steps)
		return DRYING_WET;
	if ((double)(span->end - span->first) * bins->step < SHORTEST)
		return DRYING_SHORT;
	return DRYING_FITTED;
}

/* What a curve over so many hours is worth. */
static enum drying_verdict after_fit(const struct drying_curve *curve, double hours)
{
	double fall = curve->drop * (1 - exp(-hours / curve->time_constant));
	double steps = (double)(curve->left_out + curve->used);

	if (fall < LEAST_FALL * (curve->floor + curve->drop) || fall < curve->residual)
		return DRYING_FLAT;
	if (curve->time_constant > hours || curve->floor <= 0)
		return DRYING_SLOW;
	if ((double)curve->left_out > LEFT_OUT_SHARE * steps ||
	    curve->residual > MOST_OFF * curve->drop)
		return DRYING_RAGGED;
	if (curve->time_constant_error > MOST_ERROR * curve->time_constant)
		return curve->time_constant > hours / ENOUGH ? DRYING_SLOW : DRYING_RAGGED;
	return DRYING_FITTED;
}

/* Where there is no curve: whether the last quarter is drier than the first hour at all. */
static bool has_fallen(const struct bins *bins, const struct span *span)
{
	size_t quarter = span->end - (span->end - span->first) / 4;
	size_t hour = span->first + (size_t)(HOUR / bins->step);
	double first = 0, last = 0, early = 0, late = 0;

	for (size_t i = span->first; i < span->end; i++) {
		const struct bin *bin = &bins->list[i];

		if (i < hour) {
			first += bin->ok * bin->vapour;
			early += bin->ok;
		}
		if (i >= quarter) {
			last += bin->ok * bin->vapour;
			late += bin->ok;
		}
	}
	return early > 0 && late > 0 && last / late < (1 - LEAST_FALL) * first / early;
}

/* ---- the mean air meanwhile ----------------------------------------------- */

static void note_means(const struct drying_air *air, const struct span *span, struct drying *out)
{
	double ok = 0, room_ok = 0, celsius = 0, room = 0;

	for (size_t i = span->first; i < span->end; i++) {
		const struct bin *bin = &air->inside->list[i];
		const struct bin *beside =
			air->room ? bin_at(air->room, bin_time(air->inside, i)) : NULL;

		ok += bin->ok;
		celsius += bin->ok * bin->celsius;
		if (beside) {
			room_ok += beside->ok;
			room += beside->ok * beside->vapour;
		}
	}
	out->celsius = ok > 0 ? celsius / ok : 0;
	out->has_room = room_ok > 0;
	out->room = room_ok > 0 ? room / room_ok : 0;
}

/* ---- the fit -------------------------------------------------------------- */

/* A probe errs by so many % of what the air could hold, and by less the longer a step is known:
 * the weight of its vapour is in proportion to the one over that squared, and to the other. */
static struct curve_step *steps_of(const struct bins *bins, const struct span *span,
				   double celsius)
{
	struct curve_step *steps = must_calloc(span->end - span->first, sizeof *steps);
	double mean = air_vapour_density(celsius, 100);

	for (size_t i = span->first; i < span->end; i++) {
		const struct bin *bin = &bins->list[i];

		celsius = is_known(bin) ? bin->celsius : celsius;

		double saturated = air_vapour_density(celsius, 100), errs = saturated / mean;

		steps[i - span->first] = (struct curve_step){
			is_wet(bin) ? 0 : bin->ok / bins->step / (errs * errs), bin->vapour,
			saturated
		};
	}
	return steps;
}

static void note_fit(const struct drying_curve *curve, struct drying *out)
{
	out->time_constant = curve->time_constant;
	out->floor = curve->floor;
	out->drop = curve->drop;
	out->time_constant_error = curve->time_constant_error;
	out->floor_error = curve->floor_error;
	out->freedom = curve->freedom;
	out->floor_humidity = air_humidity_at(out->celsius, curve->floor);
}

static enum drying_verdict fit(const struct bins *bins, const struct span *span,
			       struct drying *out)
{
	enum drying_verdict verdict = before_fit(bins, span);
	struct curve_step *steps;
	struct drying_curve curve;

	if (verdict != DRYING_FITTED)
		return verdict;
	steps = steps_of(bins, span, out->celsius);
	if (!drying_curve_fit(steps, span->end - span->first, bins->step / HOUR, &curve))
		verdict = has_fallen(bins, span) ? DRYING_SLOW : DRYING_FLAT;
	else
		verdict = after_fit(&curve, (out->to - out->from) / HOUR);
	free(steps);
	if (verdict == DRYING_FITTED)
		note_fit(&curve, out);
	return verdict;
}

/* ---- when it passes an edge ----------------------------------------------- */

enum edge { BAND, LIMIT };

static const struct band_record *record_at(const struct ribbon *ribbon, double instant)
{
	size_t i = 0;

	while (i + 1 < ribbon->count && ribbon->list[i + 1].time <= instant)
		i++;
	return &ribbon->list[i];
}

static bool has_edge(const struct ribbon *ribbon, enum edge edge, double instant)
{
	const struct band_record *record = record_at(ribbon, instant);

	return edge == BAND ? record->has_band : record->has_limits;
}

/* What it is at most, day and night: only what is below that asks the clock, which
 * costs as much as the fit. */
static double highest(const struct ribbon *ribbon, enum edge edge, double instant)
{
	const struct band_record *record = record_at(ribbon, instant);

	return edge == BAND ? fmax(record->day.low, record->night.low) : record->limits.low;
}

/* The edge there is then, %; *until is when it may change. */
static double edge_at(const struct ribbon *ribbon, enum edge edge, double instant,
		      struct in_force *last, double *until)
{
	const struct in_force *now = ribbon_next(ribbon, instant, last);

	*until = now->until;
	return edge == BAND ? now->band.low : highest(ribbon, edge, instant);
}

/* The mean over SMOOTHED around a step; false when nothing of it is known. */
static bool smoothed(const struct bins *bins, const struct span *span, size_t i, double *humidity)
{
	size_t reach = (size_t)(SMOOTHED / bins->step / 2);
	double ok = 0, sum = 0;

	for (size_t k = i > span->misting + reach ? i - reach : span->misting;
	     k <= i + reach && k < span->end; k++) {
		ok += bins->list[k].ok;
		sum += bins->list[k].ok * bins->list[k].humidity;
	}
	*humidity = ok > 0 ? sum / ok : 0;
	return ok > 0;
}

static bool is_seen(const struct drying_air *air, const struct span *span, enum edge edge,
		    double *instant)
{
	const struct ribbon *ribbon = air->ribbon;
	struct in_force last = { 0 };
	double humidity, until;

	for (size_t i = span->first; i < span->end; i++) {
		*instant = bin_time(air->inside, i);
		if (has_edge(ribbon, edge, *instant) &&
		    smoothed(air->inside, span, i, &humidity) &&
		    humidity < highest(ribbon, edge, *instant) &&
		    humidity < edge_at(ribbon, edge, *instant, &last, &until))
			return true;
	}
	return false;
}

/* From the end of what was looked at on, along the fit, from one change of the edge to
 * the next; the temperature stays at its mean. */
static bool is_foretold(const struct ribbon *ribbon, const struct drying *drying, enum edge edge,
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

static struct reached reached(const struct drying_air *air, const struct span *span,
			      const struct drying *drying, enum edge edge)
{
	double instant;

	if (is_seen(air, span, edge, &instant))
		return (struct reached){ REACH_SEEN, (instant - drying->at) / HOUR };
	if (drying->verdict != DRYING_FITTED || !has_edge(air->ribbon, edge, drying->to))
		return (struct reached){ REACH_UNTOLD, 0 };
	if (is_foretold(air->ribbon, drying, edge, &instant))
		return (struct reached){ REACH_FORETOLD, (instant - drying->at) / HOUR };
	return (struct reached){ REACH_NEVER, 0 };
}

/* Of the fall alone: later it rests on what substrate gives off. */
static void note_air_changes(const struct drying_air *air, struct drying *out)
{
	double until = out->from + HOUR * fmax(FALLEN * out->time_constant, 1);
	struct window fall = { out->from, fmin(until, out->to) };

	out->has_air_changes = airing_of(air->inside, air->room, fall, &out->air_changes);
}

void drying_fit(const struct drying_air *air, struct misting misting, double end,
		struct drying *out)
{
	struct span span = span_of(air->inside, misting.at, end);

	*out = (struct drying){ .at = misting.at, .before = misting.from, .top = misting.to,
				.from = begin_of(air->inside, span.first),
				.to = begin_of(air->inside, span.end) };
	note_means(air, &span, out);
	out->verdict = fit(air->inside, &span, out);
	out->edge = reached(air, &span, out, BAND);
	out->limit = reached(air, &span, out, LIMIT);
	if (out->verdict == DRYING_FITTED && air->room)
		note_air_changes(air, out);
}

struct range drying_time_constant_range(const struct drying *drying)
{
	/* Of the logarithm the distribution is nearly even on both sides. */
	double wide = fit_t(INSIDE, drying->freedom) * drying->time_constant_error /
		      drying->time_constant;

	return (struct range){ drying->time_constant * exp(-wide),
			       drying->time_constant * exp(wide) };
}

struct range drying_floor_range(const struct drying *drying)
{
	double wide = fit_t(INSIDE, drying->freedom) * drying->floor_error;

	return (struct range){ drying->floor - wide, drying->floor + wide };
}

const char *drying_reason(enum drying_verdict verdict)
{
	static const char *const reasons[DRYING_VERDICTS] = {
		[DRYING_SHORT] = "the next misting came too soon",
		[DRYING_GAPS] = "too little of it is known",
		[DRYING_WET] = "the probe itself was wet",
		[DRYING_FLAT] = "it does not fall",
		[DRYING_SLOW] = "it falls too slowly for its length",
		[DRYING_RAGGED] = "it falls, but not towards a floor",
	};

	return reasons[verdict];
}
