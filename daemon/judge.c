/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Episodes outside band and limits; see judge.h.
 */
#include "daemon/judge.h"

#include <math.h>

enum {
	CONFIRMING_READINGS = 2, /* a temperature beyond its limits */
};

static enum side side_of(struct range range, double value)
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

/* Walks the line from a to b, during which the range does not change. */
static void walk(struct episode *episode, struct range range, double deadband, struct sample a,
		 struct sample b)
{
	enum side from = side_of(range, a.value), to = side_of(range, b.value);
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
}

/* A reading with nothing before it to be joined to. */
static void land(struct episode *episode, struct range range, double deadband, struct sample b)
{
	enum side to = side_of(range, b.value);

	if (to != INSIDE && episode->side != to)
		begin(episode, to, b.time, b.value);
	else if (episode->side != INSIDE) {
		/* Nobody knows what it did in between: back counts from here. */
		episode->returning = false;
		follow_home(episode, range, deadband, b, b);
	}
}

/* What the reading at the end of a walk settles. */
static void settle(struct episode *episode, struct range range, double off_delay,
		   struct sample b)
{
	if (episode->side == INSIDE)
		return;
	if (side_of(range, b.value) == episode->side) {
		episode->readings++;
		episode->worst = episode->side == BELOW ? fmin(episode->worst, b.value)
							: fmax(episode->worst, b.value);
	} else {
		episode->readings = 0;
	}
	if (episode->returning && b.time - episode->back_since >= off_delay)
		*episode = (struct episode){ .back_since = episode->back_since };
}

static void judge_band(struct judged *judged, const struct rule *rule, const struct day *day,
		       struct daypart_cache *cache, bool joined, struct sample b)
{
	struct sample a = judged->last;
	struct daypart_span span = cached_daypart(cache, day, joined ? a.time : b.time);

	while (joined && span.until < b.time) {
		struct sample c = { span.until, a.value + (b.value - a.value) *
						(span.until - a.time) / (b.time - a.time) };

		walk(&judged->band, band_in(rule, span.part), rule->deadband, a, c);
		a = c;
		span = cached_daypart(cache, day, c.time);
	}
	struct range range = band_in(rule, span.part);

	if (joined)
		walk(&judged->band, range, rule->deadband, a, b);
	else
		land(&judged->band, range, rule->deadband, b);
	settle(&judged->band, band_in(rule, cached_daypart(cache, day, b.time).part),
	       rule->off_delay, b);
	if (judged->band.side != INSIDE && judged->band.outside >= rule->patience)
		judged->band.due = true;
}

static void judge_limits(struct judged *judged, enum quantity quantity, const struct rule *rule,
			 bool joined, struct sample b)
{
	struct episode *limits = &judged->limits;
	struct range range = rule->limits;

	if (joined)
		walk(limits, range, rule->deadband, judged->last, b);
	else
		land(limits, range, rule->deadband, b);
	settle(limits, range, rule->off_delay, b);
	if (limits->side != INSIDE &&
	    (quantity == TEMPERATURE ? limits->readings >= CONFIRMING_READINGS
				     : limits->outside >= rule->limits_patience))
		limits->due = true;
}

static bool holds(struct range range, double value)
{
	return value >= range.low && value <= range.high;
}

/* Nothing is going on and nothing begins: the line from the last reading to
 * this one lies inside a band that does not change meanwhile, and inside the
 * limits.  So it is with nearly every reading there is. */
static bool uneventful(const struct judged *judged, const struct rule *rule,
		       const struct day *day, struct daypart_cache *cache, bool joined,
		       struct sample reading)
{
	double before = joined ? judged->last.value : reading.value;

	if (judged->band.side != INSIDE || judged->limits.side != INSIDE)
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
		   struct sample reading)
{
	if (judged->has_last && reading.time <= judged->last.time)
		return;
	bool joined = judged->has_last && reading.time - judged->last.time <= longest;
	bool eventful = !uneventful(judged, rule, day, cache, joined, reading);

	if (eventful && rule->has_band)
		judge_band(judged, rule, day, cache, joined, reading);
	else if (!rule->has_band)
		judged->band = (struct episode){ 0 };
	if (eventful && rule->has_limits)
		judge_limits(judged, quantity, rule, joined, reading);
	else if (!rule->has_limits)
		judged->limits = (struct episode){ 0 };
	judged->last = reading;
	judged->has_last = true;
}

enum standing judge_value(const struct rule *rule, const struct day *day,
			  struct daypart_cache *cache, struct sample sample)
{
	if (rule->has_limits && side_of(rule->limits, sample.value) != INSIDE)
		return UNSAFE;
	if (!rule->has_band)
		return rule->has_limits ? IN_BAND : UNJUDGED;
	struct range band = band_in(rule, cached_daypart(cache, day, sample.time).part);

	return side_of(band, sample.value) == INSIDE ? IN_BAND : STRAYING;
}
