/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the trend leads; see runaway.h.
 */
#include "daemon/runaway.h"

enum { CONFIRMING_TREND = 50 }; /* s: three bins, or two polls a minute apart */

/* Which limit the trend leads to.  A value that lies beyond one has arrived. */
static enum side trend_side(const struct trend *trend, struct range limits, double value)
{
	enum side there = judge_side(limits, value);
	int leads = there == INSIDE ? trend_leads(trend, limits) : 0;

	return leads > 0 ? ABOVE : leads < 0 ? BELOW : there;
}

/* The whole trend lies in one part of the day, and not in the changeover:
 * what a switch sets in motion is wanted. */
static bool undisturbed(const struct trend *trend, const struct day *day,
			struct daypart_cache *cache, double now)
{
	struct daypart_span span = cached_daypart(cache, day, now);

	return span.part != CHANGEOVER && trend_begins(trend) >= span.from;
}

/* One that is told lasts until its trend has led elsewhere for the off-delay. */
static void follow_runaway(struct runaway *runaway, enum side leads, double off_delay, double now)
{
	if (leads == runaway->side) {
		runaway->returning = false;
		return;
	}
	if (!runaway->returning) {
		runaway->returning = true;
		runaway->back_since = now;
	}
	if (now - runaway->back_since >= off_delay)
		*runaway = (struct runaway){ .back_since = runaway->back_since };
}

void runaway_judge(struct judged *judged, const struct rule *rule, const struct day *day,
		   struct daypart_cache *cache, struct sample b)
{
	struct runaway *runaway = &judged->runaway;
	enum side leads = trend_side(&judged->trend, rule->limits, b.value);

	if (runaway->due) {
		if (trend_known(&judged->trend))
			follow_runaway(runaway, leads, rule->off_delay, b.time);
	} else if (leads == INSIDE && runaway->side == INSIDE) {
		return;
	} else if (leads == INSIDE || judged->limits.side != INSIDE ||
		   !undisturbed(&judged->trend, day, cache, b.time)) {
		*runaway = (struct runaway){ .back_since = runaway->back_since };
	} else if (leads == runaway->side) {
		runaway->due = b.time - runaway->since >= CONFIRMING_TREND;
	} else {
		*runaway = (struct runaway){ .side = leads, .since = b.time };
	}
}

void runaway_arrive(struct judged *judged, double now)
{
	if (judged->limits.due && judged->runaway.side != INSIDE)
		judged->runaway = (struct runaway){ .back_since = now };
}
