/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What it may be when a probe gives no readings, from what came instead and
 * from how the others on its bus are heard.  Pure.
 */
#ifndef WARMSIDE_DAEMON_DIAGNOSIS_H
#define WARMSIDE_DAEMON_DIAGNOSIS_H

#include "conf/model.h"
#include "daemon/reading.h"

/* How a probe is heard. */
struct heard {
	bool answers;                  /* it has given a valid reading lately */
	/* What came in place of one since then: of its own, ... */
	unsigned long missed[CAUSES];
	/* ... and on its bus, of nobody who is known. */
	unsigned long strays[CAUSES];
};

/* One sentence without a full stop, for a keeper: what is the matter with
 * conf->probes[probe], and what to look at; malloc'ed.  heard is as
 * conf->probes.  Says no more than the counts do: a wire the wrong way round
 * and a wrong baud look alike, so both are named. */
char *diagnose(const struct conf *conf, size_t probe, const struct heard *heard);

#endif
