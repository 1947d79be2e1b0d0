/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a probe said, and what may go wrong on the way to a value.  Presence
 * is a state: where has[] is false there is no value, not even a wrong one.
 */
#ifndef WARMSIDE_DAEMON_READING_H
#define WARMSIDE_DAEMON_READING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "conf/model.h"

/* In place of a probe when a failure belongs to none that is known. */
#define NO_PROBE SIZE_MAX

/* One answer of one probe, as it came off the wire: before the plausible
 * range, correction, spike and frozen checks. */
struct reading {
	size_t probe;           /* index into conf.probes */
	double time;            /* wall clock, s since the epoch */
	bool has[QUANTITIES];
	double value[QUANTITIES]; /* °C, % */
};

/* Why an asking, an answer or a value came to nothing. */
enum cause {
	NO_ANSWER,              /* nothing came within the time-out */
	GARBLED,                /* checksum, length, template, over-long, binary */
	WRONG_ADDRESS,          /* a good frame or line of somebody not asked / unknown */
	REFUSED,                /* a Modbus exception, or a line that has no value */
	IMPLAUSIBLE,            /* outside -40..85 °C, 0..100 % */
	SPIKE,                  /* one reading far from both its neighbours */
	CAUSES
};

/* "no_answer", "garbled", ...: as now.json writes it. */
const char *cause_word(enum cause cause);

/* The longest time, in s, over which two readings of a probe are joined by a
 * straight line: 3 x the interval of its bus.  A little more, because an
 * instant of today has steps of 0.24 us in a double and "exactly 3 x every"
 * may come out longer. */
double longest_line(double every);

/* Kept for each probe. */
struct counters {
	unsigned long asked, read, failed[CAUSES];
};

#endif
