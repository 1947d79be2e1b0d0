/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long a series was outside its band in the last 24 hours, however
 * often: the cumulative event beside the single one (WHO PQS words).  Pure.
 *
 * Both sides are one count: a day of two hours too dry and two hours too damp
 * is four hours of a wrong air, and two counts would tell of it too late.
 * What is told is the side on which the allowance was used up.
 *
 * Constant memory (1.2 kB): seconds in buckets of 5 min.  The eldest bucket
 * counts until all of it is older than 24 h, so the count may be too large
 * by what lay outside in up to 5 min before, never too small: it errs to
 * telling early.
 */
#ifndef WARMSIDE_DAEMON_ALLOWANCE_H
#define WARMSIDE_DAEMON_ALLOWANCE_H

#include <jansson.h>
#include <stdbool.h>

enum {
	ALLOWANCE_BUCKET = 300, /* s */
	ALLOWANCE_WINDOW = 86400, /* s */
	ALLOWANCE_BUCKETS = ALLOWANCE_WINDOW / ALLOWANCE_BUCKET + 1,
};

/* Zero-initialised: nothing used. */
struct allowance {
	double begins;          /* of the newest bucket, s since the epoch */
	unsigned newest;        /* its index; the eldest is the one after it */
	float seconds[ALLOWANCE_BUCKETS]; /* outside, in each */
};

/* The end of the bucket that holds the instant; NULL is an empty one.  Time
 * is added in pieces that do not cross it. */
double allowance_until(const struct allowance *allowance, double time);

/* Adds s outside that lie in the bucket of `time`.  Times must rise; one
 * before the newest bucket counts in that. */
void allowance_add(struct allowance *allowance, double time, double seconds);

/* s outside in the 24 h before `now`; 0 for NULL. */
double allowance_used(struct allowance *allowance, double now);

/* The count starts anew. */
void allowance_clear(struct allowance *allowance);

/* The clock moved by so many s, and the remembered times with it. */
void allowance_shift(struct allowance *allowance, double by);

/* [[s since the epoch at which a bucket begins, s outside], ...], eldest
 * first, empty buckets left out; a new reference.  NULL when nothing is
 * used, and for NULL. */
json_t *allowance_to_json(const struct allowance *allowance);

/* The way back.  False, and *allowance empty, when it is none of ours. */
bool allowance_from_json(const json_t *json, struct allowance *allowance);

#endif
