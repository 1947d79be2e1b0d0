/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From what is judged to what is told: one alert a place and quantity at a
 * time, and slots for what else can stand.  Pure.
 */
#ifndef WARMSIDE_DAEMON_ALERT_H
#define WARMSIDE_DAEMON_ALERT_H

#include "conf/alertlog.h"
#include "daemon/judge.h"
#include "daemon/life.h"

enum {
	CHATTER_RAISES = 3,     /* raised so often ... */
	CHATTER_SECONDS = 3600, /* ... within this: it chatters (ISA-18.2's word) */
};

/* With what else an alert is told. */
enum joined { ALONE, WITH_ENCLOSURE, WITH_ROOM };

/* A slot for one alert; zero-initialised, nothing stands in it. */
struct alert {
	bool stands;
	char id[ALERT_ID];
	enum condition condition;
	enum side side;         /* of a series: BELOW or ABOVE */
	enum priority priority; /* now ... */
	enum priority gravest;  /* ... and the highest it was ever told with */
	double since;           /* when it began, kept until it clears */
	bool has_worst;
	double worst;
	struct life life;
	double raises[CHATTER_RAISES]; /* when it was raised last, the newest first; 0: not yet */
	bool chattering;        /* stands until it has been steady for CHATTER_SECONDS */
	bool heir;              /* others it was told with are over: it tells of their end */
	double family_since;    /* valid when heir: since when the first of them */
	enum joined joined;     /* told with another of its enclosure, or as the room's */
};

/* What an alert slot should come to. */
struct wanted {
	bool due;               /* somebody must be told of `condition` */
	bool lasts;             /* what stands is not over yet */
	enum condition condition; /* valid when due or lasting */
	enum side side;         /* likewise */
	enum priority priority;
	double since;
	bool has_worst;
	double worst;
	double over;            /* when neither: when it was over */
};

/* What the judged state of a series calls for. */
struct wanted wanted_of_series(const struct judged *judged, enum quantity quantity);

/* What a judged difference between warm and cool side calls for. */
struct wanted wanted_of_gradient(const struct judged *judged);

/* What a place calls for that is silent since then: due while it is, lasting
 * until it is steadily heard again (from `over`).  Nobody is watching the
 * enclosure when all its places are silent: that cannot wait. */
struct wanted wanted_of_silence(bool silent, bool lasts, bool whole_enclosure, double since,
				double over);

/* What a probe or the tool's own trouble calls for: FROZEN, CLOCK, ARCHIVE,
 * DELIVERY, DISK, UNTESTED, UNCALIBRATED. */
struct wanted wanted_of_upkeep(bool on, enum condition condition, double since, double over);

/* What a misting calls for that is due since, or until, `time`. */
struct wanted wanted_of_misting(bool due, bool lasts, double time);

/* One step of a slot towards what is wanted, at `now`.  True when there is an
 * event to log and tell; *event says which, and the slot is as it was told (a
 * cleared one keeps its id, condition, since and life until it is raised
 * again).  Called until it returns false: a change of side clears first, then
 * raises.  A new id is drawn at every raise.  One that chatters is cleared only
 * when it has been over for CHATTER_SECONDS. */
bool alert_step(struct alert *alert, const struct wanted *wanted, double now,
		enum event *event);

/* True for the conditions beyond the limits. */
bool beyond_limits(enum condition condition);

/* How grave an alert is now, for life.h.  Among others whatever is urgent is
 * one grade: that the next one heads for its limit or is there already is
 * nothing new to somebody on the way. */
int alert_grade(const struct alert *alert);
int alert_grade_among_others(const struct alert *alert);

/* The clock was put right by so many s. */
void alert_shift(struct alert *alert, double by);

/* "alert_" or "msg_" and 16 random hexadecimal digits; buf is returned. */
char *alert_new_id(const char *prefix, char buf[ALERT_ID]);

#endif
