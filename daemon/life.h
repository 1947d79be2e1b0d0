/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How insistently something that stands is told: reminded at a growing
 * interval, quiet once acknowledged, passed on to the next webhook when nobody
 * answers.  Pure.
 */
#ifndef WARMSIDE_DAEMON_LIFE_H
#define WARMSIDE_DAEMON_LIFE_H

#include "conf/model.h"

enum { ACK_LASTS = 86400 }; /* s: an acknowledged alert is told again after a day */

enum { EASED_SECONDS = 3600 }; /* s of being less grave until that is what counts */

/* How grave something is, as one number that grows: by priority, and within
 * one by whether it is beyond its limits. */
int life_grade(enum priority priority, bool beyond);

/* Zero-initialised; begun when what it belongs to is raised. */
struct life {
	int told;               /* the grade the keeper believes it has */
	bool eased;             /* it is less grave than that, ... */
	double eased_since;     /* ... since then */
	double from;            /* raised, or worsened, at: reminders and escalation count on */
	double next;            /* the next reminder, s since the epoch */
	unsigned reminded;      /* reminders since `from` */
	bool acked;
	double acked_at;        /* valid when acked */
	double reach;           /* s of escalation so far: webhooks held back no longer than
				 * this are told */
};

/* Begins, or begins again because it grew worse: it is told with that grade,
 * and no more acknowledged.  What it has reached it keeps. */
void life_begin(struct life *life, int grade, double now);

/* It has that grade now.  What the keeper believes follows it down when it has
 * been less grave for EASED_SECONDS, or at once when it is acknowledged: so a
 * value that comes and goes at its limit has not grown worse each time, and
 * whatever is new since the keeper looked is.  True when it is graver than the
 * keeper believes. */
bool life_is_graver(struct life *life, int grade, double now);

/* The interval between a reminder and the one before, s, for the number of
 * reminders there were: 30 min doubling to 4 h (now), 6 h doubling to a day
 * (today), a day doubling to a week (upkeep). */
double life_interval(enum priority priority, unsigned reminded);

/* True when it is time for a reminder; the next one is then set. */
bool life_remind(struct life *life, double now);

/* Somebody has seen it. */
void life_ack(struct life *life, double now);

/* How long webhook i is held back: the `escalate` of those before it, summed, as
 * far as each hangs on the one before; 0 for one that is told at once. */
double webhook_delay(const struct conf *conf, size_t index);

/* Whether an unacknowledged `now` has come to webhooks that were held back;
 * *beyond is what it had reached before. */
bool life_escalate(struct life *life, const struct conf *conf, double now, double *beyond);

/* The clock was put right by so many s. */
void life_shift(struct life *life, double by);

#endif
