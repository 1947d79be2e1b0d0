/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether a temperature is about to pass a limit: struct runaway in judge.h,
 * reading by reading.  Pure; used by judge.c alone.
 */
#ifndef WARMSIDE_DAEMON_RUNAWAY_H
#define WARMSIDE_DAEMON_RUNAWAY_H

#include "daemon/judge.h"

/* What the judged trend comes to at reading b.  rule: in force at b, with limits. */
void runaway_judge(struct judged *judged, const struct rule *rule, const struct day *day,
		   struct daypart_cache *cache, struct sample b);

/* Beyond the limit and told so: no need to say that it will be. */
void runaway_arrive(struct judged *judged, double now);

#endif
