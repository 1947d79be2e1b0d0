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
#include "report/drying_edge.h"
#include "report/fit.h"

static const double HOUR = 3600;                /* s */

/* Chosen on simulated dryings; no source. */
static const double TOP_WITHIN = 45 * 60;       /* s: what was sprayed still evaporates */
static const double LONGEST = 7 * 86400;        /* s */
static const double SHORTEST = 2 * 3600;        /* s */
static const double KNOWN_SHARE = 0.6;          /* of the time */
static const double WET = 99;                   /* %: the probe itself is wet */
static const double MAYBE_WET = 95;             /* %: from where its water may be gone at once */
static const double OWN_WATER = 3;              /* %: so much at least is gone then */
enum { WET_WITHIN = 18, GONE_IN = 2, LATER_FROM = 3, LATER_TO = 18 }; /* steps */
static const double WET_SHARE = 0.25;           /* of the time */
static const double LEAST_FALL = 0.02;          /* of the vapour at the top */
static const double MOST_ERROR = 0.5;           /* of the time constant */
static const double ENOUGH = 3;                 /* time constants: not too short */
static const double FALLEN = 2;                 /* time constants: 86 % of the drop */
static const double INSIDE = 0.8;

/* What there is to look at: the steps [first, end), those from the misting on included. */
struct span {
	size_t misting, first, end;
	size_t known;           /* of the steps from the misting on */
	size_t wet;             /* of those from `first` on */
	bool was_wet;           /* it begins behind a wet probe */
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

/* The mean humidity of the hours behind a step; false when they are not known. */
static bool level_behind(const struct bins *bins, const struct span *span, size_t i, double *out)
{
	double ok = 0, sum = 0;

	for (size_t k = i + LATER_FROM; k < i + LATER_TO && k < span->end; k++) {
		ok += bins->list[k].ok;
		sum += bins->list[k].ok * bins->list[k].humidity;
	}
	*out = ok > 0 ? sum / ok : 0;
	return ok > 0;
}

/* Whether the probe's own water was gone behind a step: air falls slowly at first. */
static bool is_gone_behind(const struct bins *bins, const struct span *span, size_t i)
{
	double level, fall;

	if (i + GONE_IN >= span->end || !is_known(&bins->list[i]) ||
	    !is_known(&bins->list[i + GONE_IN]) || bins->list[i].humidity < MAYBE_WET ||
	    !level_behind(bins, span, i, &level))
		return false;
	fall = bins->list[i].humidity - bins->list[i + GONE_IN].humidity;
	return fall > OWN_WATER && 2 * fall > bins->list[i].humidity - level;
}

/* The first step that a wet probe does not hide; `behind` when there was none wet. */
static size_t behind_wet(const struct bins *bins, const struct span *span, size_t behind)
{
	for (size_t i = span->misting; i < span->end && i < span->misting + WET_WITHIN; i++)
		if (is_gone_behind(bins, span, i) && i + GONE_IN + 1 > behind)
			behind = i + GONE_IN + 1;
	return behind;
}

/* The drying begins behind the step of the highest vapour, for one chosen as the highest lies
 * above the curve; and when the probe was wet then, behind that and a step in which it
 * dries itself. */
static void begin_behind_top(const struct bins *bins, struct span *span, double at)
{
	size_t top = span->misting, behind, dry;

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
	dry = behind_wet(bins, span, behind);
	span->was_wet = dry > top + 1;
	span->first = dry < span->end ? dry : span->end;
}

static struct span span_of(const struct bins *bins, double at, double end)
{
	struct span span = { index_of(bins, at), 0,
			     index_of(bins, fmin(end, at + LONGEST)), 0, 0, false };

	span.misting = span.misting < span.end ? span.misting : span.end;
	begin_behind_top(bins, &span, at);
	for (size_t i = span.misting; i < span.end; i++) {
		span.known += is_known(&bins->list[i]);
		span.wet += i >= span.first && is_wet(&bins->list[i]);
	}
	return span;
}

/* Why it need not be fitted at all; DRYING_FITTED when it may be. */
static enum drying_verdict before_fit(const struct bins *bins, const struct span *span)
{
	double steps = (double)(span->end - span->misting), left = (double)(span->end - span->first);

	if (steps * bins->step < SHORTEST)
		return DRYING_SHORT;
	if ((double)span->known < KNOWN_SHARE * steps)
		return DRYING_GAPS;
	if (left * bins->step < SHORTEST)
		return span->was_wet ? DRYING_WET : DRYING_SHORT;
	if ((double)span->wet > WET_SHARE * left)
		return DRYING_WET;
	return DRYING_FITTED;
}

/* What a curve over so many hours is worth. */
static enum drying_verdict after_fit(const struct drying_curve *curve, double hours)
{
	double fall = curve->drop * (1 - exp(-hours / curve->time_constant));

	if (fall < LEAST_FALL * (curve->floor + curve->drop))
		return DRYING_FLAT;
	if (curve->time_constant > hours || curve->floor <= 0)
		return DRYING_SLOW;
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

/* The highest step of what a wet probe left. */
static double top_of(const struct bins *bins, const struct span *span, double before)
{
	double top = before;

	for (size_t i = span->first; i < span->end; i++)
		if (is_known(&bins->list[i]) && !is_wet(&bins->list[i]))
			top = fmax(top, bins->list[i].humidity);
	return top;
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
	out->celsius = ok > 0 ? celsius / ok : NAN;
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
	if (isnan(out->celsius)) /* all that is known lies before it */
		return DRYING_GAPS;
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

/* ---- a misting -------------------------------------------------------------- */

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
	struct drying_steps looked = { span.misting, span.first, span.end };

	*out = (struct drying){ .at = misting.at, .before = misting.from, .top = misting.to,
				.from = begin_of(air->inside, span.first),
				.to = begin_of(air->inside, span.end) };
	if (span.was_wet)
		out->top = top_of(air->inside, &span, misting.from);
	note_means(air, &span, out);
	out->verdict = fit(air->inside, &span, out);
	out->edge = drying_reached(air, looked, out, DRYING_BAND);
	out->limit = drying_reached(air, looked, out, DRYING_LIMIT);
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
