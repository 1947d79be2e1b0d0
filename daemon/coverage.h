/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How much of the last while a series was known: a probe with a loose contact
 * answers now and then, never long enough silent to be called so, and is no
 * watch all the same.  Pure.
 */
#ifndef WARMSIDE_DAEMON_COVERAGE_H
#define WARMSIDE_DAEMON_COVERAGE_H

#include <stdbool.h>

enum { COVERAGE_SECONDS = 1800 }; /* the while: time constant of the mean */

/* Begun by coverage_begin. */
struct coverage {
	double share;           /* 0..1 of the last while that is known, the nearest most */
	double last;            /* the value that counted last, s since the epoch */
	double good;            /* when it was last known nearly all the while */
};

void coverage_begin(struct coverage *coverage, double now);

/* A value counted: the time since the one before is known when that is at most
 * `longest` s ago.  After a silence (of `silent` s or more), which is told of by
 * itself, it begins again with neither good nor bad. */
void coverage_take(struct coverage *coverage, double longest, double silent, double time);

/* Nothing is known of the last while: neither good nor bad.  The next value says nothing of
 * the time before it: after a silence that began before we did, that is no gap. */
void coverage_doubt(struct coverage *coverage);

/* So little is known that somebody must be told ... */
bool coverage_is_patchy(const struct coverage *coverage);

/* ... enough that a silence is over ... */
bool coverage_is_steady(const struct coverage *coverage);

/* ... and so much that it can be relied on. */
bool coverage_is_good(const struct coverage *coverage);

/* The clock was put right by so many s. */
void coverage_shift(struct coverage *coverage, double by);

#endif
