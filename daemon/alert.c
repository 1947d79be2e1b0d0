/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The life of an alert; see alert.h.
 */
#include "daemon/alert.h"

#include <inttypes.h>
#include <stdio.h>
#include <sys/random.h>
#include <time.h>

char *alert_new_id(const char *prefix, char buf[ALERT_ID])
{
	uint64_t bits;

	if (getrandom(&bits, sizeof bits, GRND_NONBLOCK) != sizeof bits) {
		struct timespec now; /* an early boot without entropy: unique enough here */

		clock_gettime(CLOCK_REALTIME, &now);
		bits = (uint64_t)now.tv_sec << 30 ^ (uint64_t)now.tv_nsec;
	}
	snprintf(buf, ALERT_ID, "%s%016" PRIx64, prefix, bits);
	return buf;
}

struct wanted wanted_of_series(const struct judged *judged, enum quantity quantity)
{
	const struct episode *band = &judged->band, *limits = &judged->limits;
	struct wanted wanted = {
		.due = band->due || limits->due,
		.lasts = band->side != INSIDE || limits->side != INSIDE,
		.over = band->back_since > limits->back_since ? band->back_since
							      : limits->back_since,
	};

	if (!wanted.lasts)
		return wanted;
	const struct episode *worse = limits->due || band->side == INSIDE ? limits : band;

	if (worse == limits)
		wanted.condition = limits->side == BELOW ? BELOW_LIMITS : ABOVE_LIMITS;
	else
		wanted.condition = band->side == BELOW ? BELOW_BAND : ABOVE_BAND;
	wanted.priority = worse == limits && quantity == TEMPERATURE ? NOW : TODAY;
	wanted.since = worse->since;
	wanted.has_worst = true;
	wanted.worst = worse->worst;
	return wanted;
}

struct wanted wanted_of_upkeep(bool on, enum condition condition, double since, double over)
{
	return (struct wanted){
		.due = on,
		.lasts = on,
		.condition = condition,
		.priority = UPKEEP,
		.since = since,
		.over = over,
	};
}

struct wanted wanted_of_silence(bool silent, bool whole_enclosure, double since, double over)
{
	struct wanted wanted = wanted_of_upkeep(silent, SILENT, since, over);

	if (whole_enclosure)
		wanted.priority = NOW;
	return wanted;
}

/* Below and above are different matters; the two conditions of one side are
 * one matter, more or less grave. */
static bool same_matter(enum condition a, enum condition b)
{
	static const int matter[CONDITIONS] = {
		[BELOW_BAND] = 1, [BELOW_LIMITS] = 1, [ABOVE_BAND] = 2, [ABOVE_LIMITS] = 2,
		[SILENT] = 3,	  [CLOCK] = 4,	      [ARCHIVE] = 5,
	};

	return matter[a] == matter[b];
}

static bool graver(const struct alert *alert, const struct wanted *wanted)
{
	bool beyond = wanted->condition == BELOW_LIMITS || wanted->condition == ABOVE_LIMITS;

	return wanted->priority > alert->priority ||
	       (beyond && wanted->condition != alert->condition);
}

static void take_over(struct alert *alert, const struct wanted *wanted)
{
	alert->condition = wanted->condition;
	alert->priority = wanted->priority;
	alert->has_worst = wanted->has_worst;
	alert->worst = wanted->worst;
}

bool alert_step(struct alert *alert, const struct wanted *wanted, enum event *event)
{
	if (!alert->stands) {
		if (!wanted->due)
			return false;
		alert_new_id("alert_", alert->id);
		alert->stands = true;
		alert->since = wanted->since;
		take_over(alert, wanted);
		*event = RAISED;
		return true;
	}
	if (!wanted->lasts || !same_matter(alert->condition, wanted->condition)) {
		alert->stands = false;
		*event = CLEARED;
		return true;
	}
	bool worsened = wanted->due && graver(alert, wanted);

	/* Less grave than it was but not over: it goes on standing as what it
	 * is now, so that it can worsen again. */
	take_over(alert, wanted);
	if (worsened)
		*event = WORSENED;
	return worsened;
}
