/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a jar had settled, and what was read then; see salt_jar.h.
 */
#include "report/salt_jar.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "report/salt_leak.h"
#include "report/salt_steady.h"

static const double LEAST_CLOSED = 6;   /* h; common practice: 6 to 12 at least */
static const double LEAST_PLATEAU = 4;  /* h: as many steps as a trend needs */
static const double GOOD_PLATEAU = 6;   /* h: enough to leave the begin of it aside */
static const double END = 3;            /* h by which the rest is measured */
static const double LEAST_KNOWN = 0.8;  /* of the time */
enum { LEAST_STEPS = 12 };

/* What may still be to come, %: a sixth of the 3 % that probes are sold with (common
 * practice), and no more than the error that is told anyhow. */
static const double STILL = 0.5;
static const double UNKNOWN_REACH = 6;  /* h: as slow as a jar may be whose begin is not seen */
static const double SEEN_BEGIN = 3;     /* %: so far from its value it begins, or is not seen to */
static const double USUAL_DELAY = 1.5;  /* h */
static const double DELAYS = 4;         /* of them leave 2 % of the way */
static const double JUMP = 3;           /* % between two steps of ten minutes */
static const double END_OF_RANGE = 99;  /* % */
static const double MOST_RANGE = 2, MOST_CHANGE = 0.5; /* °C; °C from hour to hour */
static const double MOST_UNEQUAL = 0.85; /* %: the error is 1 % */
/* Air and salt may have differed by all of that or by nothing: / sqrt 2; and how much it is, is
 * known to a fifth. */
static const double ALL_OR_NOTHING = 0.85;
static const double MOST_WRONG = 15;    /* %: beyond it a probe is not calibrated but replaced */
static const double SURE = 3;           /* standard errors before a leak is told */
static const double THERMOMETER = 0.5;  /* °C: a probe's usual tolerance (common practice) */
/* °C: to which the course of a temperature is known, from tenths that hardly change.  What it moves
 * the humidity by looks like the room's doing, which has the same day and night. */
static const double FINE_WARMTH = 0.02;
static const double EXPANDED = 2;       /* standard uncertainties */

struct look {
	const struct bins *bins;
	struct bins even;       /* the humidity as it were if air and salt were equally warm */
	double *lead;           /* °C, of each step: the air is so much warmer than the vapour */
	size_t first;           /* step of the plateau's begin */
	double delay;           /* h until 63 % of the way was gone; 0: not seen */
	struct steady steady;   /* of the plateau, made even */
};

static size_t steps_of(const struct bins *bins, double hours)
{
	return (size_t)round(hours * 3600 / bins->step);
}

/* The steps of the last so many hours begin here. */
static size_t last_hours(const struct bins *bins, double hours)
{
	size_t steps = steps_of(bins, hours);

	return steps < bins->count ? bins->count - steps : 0;
}

static bool is_known(const struct bins *bins, size_t first)
{
	size_t known = 0;

	for (size_t i = first; i < bins->count; i++)
		known += step_known(bins, i);
	return (double)known >= LEAST_KNOWN * (double)(bins->count - first);
}

/* Somebody took the probe out, or opened the jar. */
static bool jumps(const struct bins *bins)
{
	double most = JUMP * sqrt(bins->step / JAR_STEP), before = NAN;

	for (size_t i = last_hours(bins, END); i < bins->count; i++) {
		if (!step_known(bins, i))
			continue;
		if (!isnan(before) && fabs(bins->list[i].humidity - before) > most)
			return true;
		before = bins->list[i].humidity;
	}
	return false;
}

/* From when on every hour's mean is near that of the end. */
static size_t find_plateau(const struct bins *bins, const struct steady *end)
{
	double most = STILL + 2 * end->spread / sqrt((double)hour_steps(bins));
	size_t first = last_hours(bins, END);
	double humidity, celsius;

	for (size_t i = first; i-- > 0;) {
		if (!hour_mean(bins, i, &humidity, &celsius))
			continue;
		if (fabs(humidity - end->mean) > most)
			break;
		first = i;
	}
	return first;
}

/* How long it took to go 63 % of its way; 0 when its begin is not seen. */
static double find_delay(const struct bins *bins, double read)
{
	double begin = NAN;

	for (size_t i = 0; i < bins->count; i++) {
		double rest = bins->list[i].humidity - read;

		if (!step_known(bins, i))
			continue;
		if (isnan(begin))
			begin = rest;
		if (fabs(begin) < SEEN_BEGIN)
			return 0;
		if (fabs(rest) <= fabs(begin) * exp(-1))
			return ((double)i + 0.5) * bins->step / 3600;
	}
	return 0;
}

/* % by which a probe reads wrong that is one °C warmer than the salt. */
static double per_degree(double celsius, double humidity)
{
	return humidity - air_humidity_elsewhere(celsius, humidity, celsius + 1);
}

static double delay_of(const struct look *look)
{
	return look->delay > 0 ? look->delay : USUAL_DELAY;
}

/* A jar that warms is less humid than its salt would have it until that has followed. */
static void make_even(struct look *look, const struct steady *end, double celsius)
{
	const struct bins *bins = look->bins;

	look->lead = leak_lead(bins, SALT_DELAY + delay_of(look));
	look->even = *bins;
	look->even.list = must_calloc(bins->count + 1, sizeof *bins->list);
	for (size_t i = 0; i < bins->count; i++) {
		look->even.list[i] = bins->list[i];
		look->even.list[i].humidity += per_degree(celsius, end->mean) * look->lead[i];
	}
}

static double mean_lead(const struct look *look)
{
	double sum = 0;
	size_t known = 0;

	for (size_t i = look->first; i < look->bins->count; i++) {
		sum += look->lead[i];
		known += step_known(look->bins, i);
	}
	return sum / (double)known;
}

/* A time constant later two thirds of what was left to go are gone, where there is time for it. */
static size_t skip_tail(const struct look *look, size_t first)
{
	size_t later = first + steps_of(look->bins, look->delay);

	return later <= last_hours(look->bins, GOOD_PLATEAU) ? later : first;
}

/* Hourly means from first on; false when they swing or change too fast. */
static bool look_at_warmth(const struct bins *bins, size_t first, struct jar *out)
{
	double humidity, celsius, earlier, sum = 0;
	size_t hour = hour_steps(bins), count = 0;
	bool steady = true;

	out->coldest = INFINITY;
	out->warmest = -INFINITY;
	for (size_t i = first; i < bins->count; i++)
		if (step_known(bins, i)) {
			sum += bins->list[i].celsius;
			count++;
		}
	out->celsius = sum / (double)count;
	for (size_t i = first; i + hour <= bins->count; i++) {
		if (!hour_mean(bins, i, &humidity, &celsius))
			continue;
		out->coldest = fmin(out->coldest, celsius);
		out->warmest = fmax(out->warmest, celsius);
		if (i >= first + hour && hour_mean(bins, i - hour, &humidity, &earlier))
			steady = steady && fabs(celsius - earlier) <= MOST_CHANGE;
	}
	return steady && out->warmest - out->coldest <= MOST_RANGE;
}

/* False when the jar goes along with the room's air. */
static bool look_at_room(const struct jar_past *past, const struct look *look, struct jar *out)
{
	/* One that never rests may do so because it leaks: all is looked at from when it
	 * should have. */
	size_t should = look->delay > 0 ? steps_of(look->bins, DELAYS * look->delay) : 0;
	size_t half = look->bins->count / 2;
	size_t first = should > 0 && should < half ? should : look->first < half ? look->first : half;
	double step = look->steady.spread < past->resolution / 4 ? past->resolution / sqrt(12) : 0;
	double coarse = hypot(step, per_degree(out->celsius, out->read) * FINE_WARMTH);
	struct leak leak;

	out->room_known = past->room != NULL;
	out->unseen = INFINITY;
	if (!past->room || !leak_find(look->bins, past->room, first, look->bins->count,
				      delay_of(look), coarse, &leak))
		return true;

	double away = fabs(leak.air - salt_humidity(past->salt, out->celsius));
	double unsure = SURE * leak.error + leak.coarse;

	out->leak = fabs(leak.share) * away;
	out->unseen = fmax(STILL, (fmax(leak.share, 0) + unsure) * away);
	return !(leak.share > unsure && out->leak > STILL);
}

/* How much the humidity may still have had to go, %. */
static double still(const struct look *look, double slope)
{
	double half = (double)(look->bins->count - look->first) * look->bins->step / 3600 / 2;
	double reach = fmax(half, look->delay > 0 ? look->delay : UNKNOWN_REACH);

	return fabs(slope) * reach;
}

/* One that tells whole percents cannot show less. */
static double most_still(const struct jar_past *past)
{
	return STILL + past->resolution / 2;
}

static bool is_steady(const struct jar_past *past, const struct look *look)
{
	double most = fabs(look->steady.slope) + 2 * look->steady.slope_error;

	return look->steady.count >= LEAST_STEPS && still(look, most) <= most_still(past);
}

/* A bound of which nothing more is known is as likely anywhere within: / sqrt 3. */
static void take_uncertainty(const struct jar_past *past, const struct look *look, struct jar *out)
{
	struct jar_parts *parts = &out->parts;
	double bound = 1 / sqrt(3);

	parts->salt = salt_uncertainty(past->salt, out->celsius) * bound;
	parts->scatter = look->steady.mean_error;
	parts->moving = still(look, fabs(look->steady.slope) + look->steady.slope_error) * bound;
	parts->temperature = fabs(salt_slope(past->salt, out->celsius)) * THERMOMETER * bound;
	parts->unequal = per_degree(out->celsius, out->actual) *
			 fabs(mean_lead(look)) * ALL_OR_NOTHING;
	parts->resolution = past->resolution / sqrt(12);
	out->uncertainty = EXPANDED * sqrt(parts->salt * parts->salt +
					   parts->scatter * parts->scatter +
					   parts->moving * parts->moving +
					   parts->temperature * parts->temperature +
					   parts->unequal * parts->unequal +
					   parts->resolution * parts->resolution);
}

/* What is wrong before there can be talk of a plateau; JAR_SETTLED when nothing is. */
static enum jar_verdict look_at_end(const struct bins *bins, struct steady *end, struct jar *out)
{
	size_t first = last_hours(bins, END);

	if ((double)bins->count * bins->step < LEAST_CLOSED * 3600)
		return JAR_SHORT;
	if (!is_known(bins, first) || !is_known(bins, last_hours(bins, LEAST_CLOSED)))
		return JAR_GAPS;
	steady_make(bins, first, bins->count, end);
	if (end->count < 3)
		return JAR_GAPS;
	out->read = end->mean;
	out->drift = end->slope;
	look_at_warmth(bins, first, out);
	if (jumps(bins))
		return JAR_OPENED;
	if (end->mean >= END_OF_RANGE)
		return JAR_WET;
	return out->celsius < salt_coldest || out->celsius > salt_warmest ? JAR_OUTSIDE
									  : JAR_SETTLED;
}

static enum jar_verdict look_at_plateau(const struct jar_past *past, struct look *look,
					const struct steady *end, struct jar *out)
{
	const struct bins *bins = look->bins;
	size_t least = last_hours(bins, LEAST_PLATEAU);
	struct steady even, raw;

	look->delay = find_delay(bins, end->mean);
	make_even(look, end, out->celsius);
	steady_make(&look->even, last_hours(bins, END), bins->count, &even);
	look->first = skip_tail(look, find_plateau(&look->even, &even));
	steady_make(&look->even, look->first, bins->count, &look->steady);
	if (!look_at_warmth(bins, look->first < least ? look->first : least, out))
		return JAR_SWINGING;
	if (!look_at_room(past, look, out))
		return JAR_LEAKING;
	if (look->first > least)
		return JAR_MOVING;
	steady_make(bins, look->first, bins->count, &raw);
	out->read = raw.mean;
	out->spread = raw.spread;
	out->drift = look->steady.slope;
	if (!is_known(bins, look->first))
		return JAR_GAPS;
	if (!is_steady(past, look))
		return still(look, look->steady.slope) > most_still(past) ? JAR_MOVING : JAR_NOISY;
	out->actual = salt_humidity(past->salt, out->celsius);
	return fabs(out->read - out->actual) > MOST_WRONG ? JAR_FAR : JAR_SETTLED;
}

static void finish(const struct jar_past *past, const struct look *look, struct jar *out)
{
	out->settled = look->bins->from + (double)look->first * look->bins->step;
	take_uncertainty(past, look, out);
	if (out->parts.unequal > MOST_UNEQUAL)
		out->verdict = JAR_SWINGING;
}

void jar_look(const struct jar_past *past, struct jar *out)
{
	struct look look = { .bins = past->inside };
	const struct bins *bins = past->inside;
	struct steady end = { 0 };

	*out = (struct jar){ .celsius = NAN };
	out->until = bins->from + (double)bins->count * bins->step;
	out->verdict = look_at_end(bins, &end, out);
	if (out->verdict == JAR_SETTLED)
		out->verdict = look_at_plateau(past, &look, &end, out);
	if (out->verdict == JAR_SETTLED)
		finish(past, &look, out);
	free(look.lead);
	free(look.even.list);
}
