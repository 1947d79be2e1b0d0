/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Episodes outside band and limits; see judge.h.
 */
#include "daemon/judge.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "daemon/runaway.h"

enum { CONFIRMING_READINGS = 2 }; /* a temperature beyond its limits */

enum side judge_side(struct range range, double value)
{
	return value < range.low ? BELOW : value > range.high ? ABOVE : INSIDE;
}

/* The instant at which the line from a to b passes a value between theirs. */
static double crossing(struct sample a, struct sample b, double value)
{
	return a.time + (b.time - a.time) * (value - a.value) / (b.value - a.value);
}

static void begin(struct episode *episode, enum side side, double since, double value)
{
	*episode = (struct episode){ .side = side, .since = since, .worst = value,
				      .back_since = since };
}

/* The edge that is home from this side, moved inside by the deadband. */
static double home_edge(const struct episode *episode, struct range range, double deadband)
{
	return episode->side == BELOW ? range.low + deadband : range.high - deadband;
}

static bool is_home(const struct episode *episode, double edge, double value)
{
	return episode->side == BELOW ? value >= edge : value <= edge;
}

/* The way back: keeps since when the value has been inside by the deadband. */
static void follow_home(struct episode *episode, struct range range, double deadband,
			struct sample a, struct sample b)
{
	double edge = home_edge(episode, range, deadband);

	if (!is_home(episode, edge, b.value)) {
		episode->returning = false;
	} else if (!episode->returning) {
		episode->returning = true;
		episode->back_since = is_home(episode, edge, a.value) ? a.time
								      : crossing(a, b, edge);
	}
}

/* The on-delay's timer along the line from a to b. */
static void time_out(struct episode *episode, struct range range, struct sample a, struct sample b)
{
	const bool from = judge_side(range, a.value) == episode->side;

	if (judge_side(range, b.value) != episode->side) {
		episode->out = false;
	} else if (!from || !episode->out) {
		double edge = episode->side == BELOW ? range.low : range.high;

		episode->out_since = from ? a.time : crossing(a, b, edge);
		episode->out = true;
	}
}

/* Walks the line from a to b, during which the range does not change.  Returns
 * the s outside, on either side. */
static double walk(struct episode *episode, struct range range, double deadband, struct sample a,
		 struct sample b)
{
	enum side from = judge_side(range, a.value), to = judge_side(range, b.value);
	struct share share = band_share(range, a.value, b.value, b.time - a.time);

	if (episode->side == INSIDE && from != INSIDE)
		begin(episode, from, a.time, a.value); /* the band moved past it */
	if (episode->side != INSIDE) {
		episode->outside += episode->side == BELOW ? share.below : share.above;
		follow_home(episode, range, deadband, a, b);
	}
	if (to != INSIDE && episode->side != to) {
		double edge = to == BELOW ? range.low : range.high;

		begin(episode, to, from == to ? a.time : crossing(a, b, edge), b.value);
		episode->outside = to == BELOW ? share.below : share.above;
	}
	if (episode->side != INSIDE)
		time_out(episode, range, a, b);
	return share.below + share.above;
}

/* A reading with nothing before it to be joined to. */
static void land(struct episode *episode, struct range range, double deadband, struct sample b)
{
	enum side to = judge_side(range, b.value);

	if (to != INSIDE && episode->side != to)
		begin(episode, to, b.time, b.value);
	else if (episode->side != INSIDE) {
		/* Nobody knows what it did in between: back counts from here. */
		episode->returning = episode->out = false;
		follow_home(episode, range, deadband, b, b);
	}
	if (episode->side != INSIDE)
		time_out(episode, range, b, b);
}

/* What the reading at the end of a walk settles. */
static void settle(struct episode *episode, struct range range, double off_delay,
		   struct sample b)
{
	if (episode->side == INSIDE)
		return;
	if (judge_side(range, b.value) == episode->side) {
		episode->readings++;
		episode->worst = episode->side == BELOW ? fmin(episode->worst, b.value)
							: fmax(episode->worst, b.value);
	} else {
		episode->readings = 0;
	}
	if (episode->returning && b.time - episode->back_since >= off_delay)
		*episode = (struct episode){ .back_since = episode->back_since };
}

/* An episode is told at such a reading only. */
static bool delay_is_over(const struct episode *episode, const struct rule *rule, double now)
{
	return rule->on_delay <= 0 ||
	       (episode->out && now - episode->out_since >= rule->on_delay);
}

/* What of the day's allowance a piece of the line used. */
static void use(struct judged *judged, const struct rule *rule, struct sample a, struct sample b,
		double outside)
{
	if (!rule->has_daily || outside <= 0)
		return;
	if (!judged->allowance)
		judged->allowance = must_calloc(1, sizeof *judged->allowance);
	allowance_add(judged->allowance, (a.time + b.time) / 2, outside);
}

/* Used up at a reading that lies outside: told once, and counted anew. */
static void judge_allowance(struct judged *judged, const struct rule *rule, double now)
{
	struct episode *band = &judged->band;

	if (!rule->has_daily || !band->out ||
	    allowance_used(judged->allowance, now) < rule->daily)
		return;
	band->by_allowance = !band->due;
	band->due = true;
	allowance_clear(judged->allowance);
}

/* Where the line that begins there must be cut: the band changes, or a bucket
 * of the allowance ends. */
static double cut_after(const struct judged *judged, const struct rule *rule,
			struct daypart_span span, double time)
{
	return rule->has_daily ? fmin(span.until, allowance_until(judged->allowance, time))
			       : span.until;
}

/* The line from a to b at that instant between them; b from its end on. */
static struct sample cut_line(struct sample a, struct sample b, double cut)
{
	if (cut >= b.time)
		return b;
	return (struct sample){ cut, a.value + (b.value - a.value) * (cut - a.time) /
						       (b.time - a.time) };
}

static void walk_band(struct judged *judged, const struct rule *rule, const struct day *day,
		      struct daypart_cache *cache, struct sample b)
{
	struct sample a = judged->last, from = a, to;

	do {
		struct daypart_span span = cached_daypart(cache, day, from.time);
		struct rule room;
		const struct rule *now = rule_on(rule, span.date, &room);

		to = cut_line(a, b, cut_after(judged, now, span, from.time));
		if (now->has_band)
			use(judged, now, from, to,
			    walk(&judged->band, band_in(now, span.part), now->deadband, from, to));
		else
			judged->band = (struct episode){ 0 };
		from = to;
	} while (to.time < b.time);
}

/* rule: its course; now: what is in force at b. */
static void judge_band(struct judged *judged, const struct rule *rule, const struct rule *now,
		       const struct day *day, struct daypart_cache *cache, bool joined,
		       struct sample b)
{
	struct episode *band = &judged->band;
	const struct range range = band_in(now, cached_daypart(cache, day, b.time).part);

	if (joined)
		walk_band(judged, rule, day, cache, b);
	else
		land(band, range, now->deadband, b);
	settle(band, range, now->off_delay, b);
	if (band->side == INSIDE || !delay_is_over(band, now, b.time))
		return;
	if (band->outside >= now->patience)
		band->due = true;
	judge_allowance(judged, now, b.time);
}

/* Limits change with seasons only, and then from day to day. */
static void walk_limits(struct judged *judged, const struct rule *rule, const struct day *day,
			struct daypart_cache *cache, struct sample b)
{
	struct sample a = judged->last, from = a, to = b;

	do {
		struct rule room;
		const struct rule *now = rule;

		if (rule->season_count > 0) {
			struct daypart_span span = cached_daypart(cache, day, from.time);

			now = rule_on(rule, span.date, &room);
			to = cut_line(a, b, span.until);
		}
		if (now->has_limits)
			walk(&judged->limits, now->limits, now->deadband, from, to);
		else
			judged->limits = (struct episode){ 0 };
		from = to;
	} while (to.time < b.time);
}

static void judge_limits(struct judged *judged, enum quantity quantity, const struct rule *rule,
			 const struct rule *now, const struct day *day,
			 struct daypart_cache *cache, bool joined, struct sample b)
{
	struct episode *limits = &judged->limits;

	if (joined)
		walk_limits(judged, rule, day, cache, b);
	else
		land(limits, now->limits, now->deadband, b);
	settle(limits, now->limits, now->off_delay, b);
	if (limits->side == INSIDE || !delay_is_over(limits, now, b.time))
		return;
	if (quantity == TEMPERATURE ? limits->readings >= CONFIRMING_READINGS
				    : limits->outside >= now->limits_patience)
		limits->due = true;
}

static bool holds(struct range range, double value)
{
	return value >= range.low && value <= range.high;
}

/* Nothing is going on and nothing begins: the line from the last reading to
 * this one lies inside a band that does not change meanwhile, and inside the
 * limits.  So it is with nearly every reading there is.  changed: a season may
 * have moved band and limits since the last one. */
static bool uneventful(const struct judged *judged, const struct rule *rule,
		       const struct day *day, struct daypart_cache *cache, bool joined,
		       bool changed, struct sample reading)
{
	double before = joined ? judged->last.value : reading.value;

	if (judged->band.side != INSIDE || judged->limits.side != INSIDE || changed)
		return false;
	if (rule->has_limits && !(holds(rule->limits, before) && holds(rule->limits, reading.value)))
		return false;
	if (!rule->has_band)
		return true;
	struct daypart_span span = cached_daypart(cache, day, reading.time);
	struct range band = band_in(rule, span.part);

	return holds(band, before) && holds(band, reading.value) &&
	       (!joined || judged->last.time >= span.from);
}

void judge_reading(struct judged *judged, enum quantity quantity, const struct rule *rule,
		   const struct day *day, struct daypart_cache *cache, double longest,
		   double trend_gap, struct sample reading)
{
	if (judged->has_last && reading.time <= judged->last.time)
		return;
	bool joined = judged->has_last && reading.time - judged->last.time <= longest;
	struct rule room;
	const struct rule *now = rule_at(rule, day, cache, reading.time, &room);
	bool changed = now != rule && joined &&
		       judged->last.time < cached_daypart(cache, day, reading.time).from;
	bool eventful = !uneventful(judged, now, day, cache, joined, changed, reading);

	if (eventful && now->has_band)
		judge_band(judged, rule, now, day, cache, joined, reading);
	else if (!now->has_band)
		judged->band = (struct episode){ 0 };
	if (eventful && now->has_limits)
		judge_limits(judged, quantity, rule, now, day, cache, joined, reading);
	else if (!now->has_limits)
		judged->limits = (struct episode){ 0 };
	if (quantity == TEMPERATURE && now->has_limits && trend_gap > 0) {
		if (trend_take(&judged->trend, trend_gap, reading))
			runaway_judge(judged, now, day, cache, reading);
		runaway_arrive(judged, reading.time);
	} else if (judged->runaway.side != INSIDE) {
		judged->runaway = (struct runaway){ 0 };
	}
	judged->last = reading;
	judged->has_last = true;
}

static void shift_episode(struct episode *episode, double by)
{
	episode->since += by;
	episode->back_since += by;
	episode->out_since += by;
}

void judged_shift(struct judged *judged, double by)
{
	judged->last.time += by;
	shift_episode(&judged->band, by);
	shift_episode(&judged->limits, by);
	judged->runaway.since += by;
	judged->runaway.back_since += by;
	if (judged->allowance)
		allowance_shift(judged->allowance, by);
	trend_shift(&judged->trend, by);
}

void judged_free(struct judged *judged)
{
	free(judged->allowance);
	*judged = (struct judged){ 0 };
}

enum standing judge_value(const struct rule *rule, const struct day *day,
			  struct daypart_cache *cache, struct sample sample)
{
	struct rule room;

	rule = rule_at(rule, day, cache, sample.time, &room);
	if (rule->has_limits && judge_side(rule->limits, sample.value) != INSIDE)
		return UNSAFE;
	if (!rule->has_band)
		return rule->has_limits ? IN_BAND : UNJUDGED;
	struct range band = band_in(rule, cached_daypart(cache, day, sample.time).part);

	return judge_side(band, sample.value) == INSIDE ? IN_BAND : STRAYING;
}
