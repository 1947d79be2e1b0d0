/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keeps bands.jsonl: whenever the configuration comes to say something else
 * of a series than it did, a line says so: because it was edited, or because a
 * season takes a step.
 */
#ifndef WARMSIDE_DAEMON_BANDS_H
#define WARMSIDE_DAEMON_BANDS_H

#include "conf/model.h"

/* How far the log has come. */
struct bands_course {
	int date;               /* the keeper's day to come (see season.h) ... */
	double begins;          /* ... and its change to day, s since the epoch */
};

/* Appends what has changed as of `now`.  A failure is logged, no more: the
 * ribbons of the past suffer, the watch does not. */
struct bands_course bands_begin(const struct conf *conf, double now);

/* Appends each step of a season up to `now`, with the time of its change to day. */
void bands_follow(struct bands_course *course, const struct conf *conf, double now);

#endif
