/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a raw value must pass before it counts, one quantity of one probe:
 * plausible range, correction, spike check; and the watch for a probe that
 * repeats itself.  Pure: framing and address were the bus's matter.
 */
#ifndef WARMSIDE_DAEMON_GATE_H
#define WARMSIDE_DAEMON_GATE_H

#include "conf/model.h"
#include "daemon/reading.h"

/* A value that counts. */
struct sample {
	double time;            /* s since the epoch */
	double value;           /* °C or %, corrected */
};

enum {
	HELD_MOST = 2,          /* values that wait for a witness */
	DOUBTFUL = 2,           /* spikes lately, from which on a probe is doubted */
};

/* Live state of one quantity of one probe; zero-initialised. */
struct gate {
	bool has_last;
	struct sample last;     /* the newest that counted */
	size_t held_count;
	struct sample held[HELD_MOST]; /* far from the last; the next ones decide */
	unsigned doubt;         /* spikes lately */
	unsigned calm;          /* values that counted since the last of them */
	bool patchy;            /* it answers badly, says whoever counts that: doubted too */
};

/* What came through: none, one, or held ones and their confirmation, in
 * order of time. */
struct passed {
	size_t count;
	struct sample samples[HELD_MOST + 1];
	bool failed;            /* something was dropped, for this cause: */
	enum cause cause;
};

/* Whether such a probe can measure that at all. */
bool gate_is_plausible(enum quantity quantity, double raw);

/* A raw value, corrected.  A humidity stays within 0..100 %. */
double gate_correct(enum quantity quantity, const struct correction *correction, double raw);

/* Takes one raw value.  `every` is the interval of the probe's bus in s.
 *
 * A spike is a value more than 10 °C or 40 % from the one before while the
 * one after is within that of the one before, all within 3 x every: dropped.
 * So is one whose successor is near neither of both.  A jump that the next
 * value confirms is real, and both count.  A probe that has given spikes
 * lately, or answers badly, is doubted: then a third of that is a jump, and it
 * needs two that confirm it, however much time has passed, because wild values
 * meet by chance. */
struct passed gate_take(struct gate *gate, enum quantity quantity,
			const struct correction *correction, double every, struct sample raw);

/* Lets a held value go that nothing followed within 3 x every of the one
 * before it: a jump then, not a spike; a doubted probe's is dropped. */
struct passed gate_release(struct gate *gate, double every, double now);

/* A probe's watch for repeating itself; zero-initialised. */
struct repeat {
	bool begun;
	double since;           /* the values have been the very same since then */
	bool has[QUANTITIES];
	double value[QUANTITIES];
};

enum { FROZEN_AFTER = 24 * 3600 }; /* s */

/* Takes a raw reading.  True when all its values have been the very same
 * for FROZEN_AFTER. */
bool repeat_take(struct repeat *repeat, const struct reading *reading);

#endif
