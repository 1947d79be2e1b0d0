/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What it may be when a probe gives no readings, from what came instead and
 * from how the others on its bus are heard.  Pure.
 */
#ifndef WARMSIDE_DAEMON_DIAGNOSIS_H
#define WARMSIDE_DAEMON_DIAGNOSIS_H

#include "conf/model.h"
#include "daemon/reading.h"

/* What came in place of readings, the latest only: an old cause says nothing of
 * a wire that has been moved since.  As many as an asked probe is tried in two
 * rounds.  Zero-initialised. */
enum { MISSES = 4 };
struct misses {
	unsigned char cause[MISSES];   /* an enum cause each; the oldest is overwritten */
	unsigned long count;           /* all that came; min(count, MISSES) are kept */
};

void misses_add(struct misses *misses, enum cause cause);

/* How many of those kept are of this cause. */
size_t misses_of(const struct misses *misses, enum cause cause);

/* How a probe is heard. */
struct heard {
	bool answers;                  /* it has given a valid reading lately */
	struct misses missed;          /* since then: of its own, ... */
	struct misses strays;          /* ... and on its bus, of nobody who is known */
};

/* One sentence without a full stop, for a keeper: what is the matter with
 * conf->probes[probe], and what to look at; malloc'ed.  heard is as
 * conf->probes.  Says no more than the causes do: a wire the wrong way round
 * and a wrong baud look alike, so both are named. */
char *diagnose(const struct conf *conf, size_t probe, const struct heard *heard);

#endif
