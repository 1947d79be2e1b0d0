/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From what is judged to what is told: one alert a place and quantity at a
 * time, and one for a place that has fallen silent.  Pure.
 */
#ifndef WARMSIDE_DAEMON_ALERT_H
#define WARMSIDE_DAEMON_ALERT_H

#include "conf/alertlog.h"
#include "daemon/judge.h"

/* A slot for one alert; zero-initialised, nothing stands in it. */
struct alert {
	bool stands;
	char id[ALERT_ID];
	enum condition condition;
	enum priority priority;
	double since;           /* when it began, kept until it clears */
	bool has_worst;
	double worst;
};

/* What an alert slot should come to. */
struct wanted {
	bool due;               /* somebody must be told of `condition` */
	bool lasts;             /* what stands is not over yet */
	enum condition condition; /* valid when due or lasting */
	enum priority priority;
	double since;
	bool has_worst;
	double worst;
	double over;            /* when neither: when it was over */
};

/* What the judged state of a series calls for. */
struct wanted wanted_of_series(const struct judged *judged, enum quantity quantity);

/* What a place calls for that has been silent since then, or speaks again
 * since `over`.  Nobody is watching the enclosure when all its places are
 * silent: that cannot wait. */
struct wanted wanted_of_silence(bool silent, bool whole_enclosure, double since, double over);

/* What the tool's own trouble calls for: CLOCK or ARCHIVE. */
struct wanted wanted_of_upkeep(bool on, enum condition condition, double since, double over);

/* One step of a slot towards what is wanted.  True when there is an event to
 * log and tell; *event says which, and the slot is as it was told (a cleared
 * one keeps its id, condition and since until it is raised again).  Called
 * until it returns false: a change of side clears first, then raises.
 * A new id is drawn at every raise. */
bool alert_step(struct alert *alert, const struct wanted *wanted, enum event *event);

/* "alert_" or "msg_" and 16 random hexadecimal digits; buf is returned. */
char *alert_new_id(const char *prefix, char buf[ALERT_ID]);

#endif
