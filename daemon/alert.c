/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The life of an alert; see alert.h.
 */
#include "daemon/alert.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
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

bool beyond_limits(enum condition condition)
{
	return condition == BELOW_LIMITS || condition == ABOVE_LIMITS;
}

/* What stands before what only lasts, and of those the graver. */
static const struct episode *graver_episode(const struct judged *judged)
{
	return judged->limits.due || judged->band.side == INSIDE ? &judged->limits
								  : &judged->band;
}

static double latest(double a, double b, double c)
{
	return fmax(a, fmax(b, c));
}

/* It will be beyond its limit soon: as urgent as if it were. */
static void want_runaway(struct wanted *wanted, const struct runaway *runaway, double value)
{
	wanted->condition = RUNAWAY;
	wanted->side = runaway->side;
	wanted->priority = NOW;
	wanted->since = runaway->since;
	wanted->has_worst = true;
	wanted->worst = value;
}

static void want_episode(struct wanted *wanted, const struct judged *judged,
			 enum quantity quantity)
{
	const struct episode *worse = graver_episode(judged);
	bool below = worse->side == BELOW, limits = worse == &judged->limits;

	if (limits)
		wanted->condition = below ? BELOW_LIMITS : ABOVE_LIMITS;
	else
		wanted->condition = below ? BELOW_BAND : ABOVE_BAND;
	wanted->side = worse->side;
	wanted->priority = limits && quantity == TEMPERATURE ? NOW : TODAY;
	wanted->since = worse->since;
	wanted->has_worst = true;
	wanted->worst = worse->worst;
}

struct wanted wanted_of_series(const struct judged *judged, enum quantity quantity)
{
	const struct episode *band = &judged->band, *limits = &judged->limits;
	const struct runaway *runaway = &judged->runaway;
	struct wanted wanted = {
		.due = band->due || limits->due || runaway->due,
		.lasts = band->side != INSIDE || limits->side != INSIDE || runaway->due,
		.over = latest(band->back_since, limits->back_since, runaway->back_since),
	};

	if (!wanted.lasts)
		return wanted;
	if (runaway->due && !limits->due)
		want_runaway(&wanted, runaway, judged->last.value);
	else
		want_episode(&wanted, judged, quantity);
	return wanted;
}

struct wanted wanted_of_gradient(const struct judged *judged)
{
	struct wanted wanted = wanted_of_series(judged, TEMPERATURE);

	wanted.condition = NO_GRADIENT;
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

struct wanted wanted_of_silence(bool silent, bool lasts, bool whole_enclosure, double since,
				double over)
{
	struct wanted wanted = wanted_of_upkeep(silent, SILENT, since, over);

	wanted.lasts = lasts;
	if (whole_enclosure)
		wanted.priority = NOW;
	return wanted;
}

struct wanted wanted_of_misting(bool due, bool lasts, double time)
{
	struct wanted wanted = wanted_of_upkeep(due, MISTING_DUE, time, time);

	wanted.lasts = lasts;
	wanted.priority = TODAY;
	return wanted;
}

int alert_grade(const struct alert *alert)
{
	return life_grade(alert->priority, beyond_limits(alert->condition));
}

int alert_grade_among_others(const struct alert *alert)
{
	return life_grade(alert->priority,
			  alert->priority == NOW || beyond_limits(alert->condition));
}

static void take_over(struct alert *alert, const struct wanted *wanted)
{
	alert->condition = wanted->condition;
	alert->side = wanted->side;
	alert->priority = wanted->priority;
	alert->has_worst = wanted->has_worst;
	alert->worst = wanted->worst;
}

static void raise_alert(struct alert *alert, const struct wanted *wanted, double now)
{
	alert_new_id("alert_", alert->id);
	alert->stands = true;
	alert->since = wanted->since;
	alert->joined = ALONE;
	alert->heir = false;
	take_over(alert, wanted);
	alert->gravest = alert->priority;
	memmove(alert->raises + 1, alert->raises, (CHATTER_RAISES - 1) * sizeof *alert->raises);
	alert->raises[0] = now;
	double first = alert->raises[CHATTER_RAISES - 1];

	alert->chattering = first != 0 && now - first <= CHATTER_SECONDS;
	alert->life.reach = 0;
	life_begin(&alert->life, alert_grade(alert), now);
}

static bool is_over(const struct alert *alert, const struct wanted *wanted, double now)
{
	if (!wanted->lasts)
		return !alert->chattering || now - wanted->over >= CHATTER_SECONDS;
	return alert->side != wanted->side; /* too dry is not too damp */
}

bool alert_step(struct alert *alert, const struct wanted *wanted, double now,
		enum event *event)
{
	if (!alert->stands) {
		if (!wanted->due)
			return false;
		raise_alert(alert, wanted, now);
		*event = RAISED;
		return true;
	}
	if (is_over(alert, wanted, now)) {
		alert->stands = false;
		*event = CLEARED;
		return true;
	}
	if (!wanted->lasts)
		return false; /* it chatters: whether it is over remains to be seen */
	take_over(alert, wanted);
	/* What may not be told now (shelved, doubted) is told when it may be. */
	if (!life_is_graver(&alert->life, alert_grade(alert), now) || !wanted->due)
		return false;
	if (alert->priority > alert->gravest)
		alert->gravest = alert->priority;
	life_begin(&alert->life, alert_grade(alert), now);
	*event = WORSENED;
	return true;
}

void alert_shift(struct alert *alert, double by)
{
	alert->since += by;
	alert->family_since += by;
	for (size_t i = 0; i < CHATTER_RAISES; i++)
		alert->raises[i] += alert->raises[i] != 0 ? by : 0;
	life_shift(&alert->life, by);
}
