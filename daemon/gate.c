/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Plausible range, correction, spike and repetition; see gate.h.
 */
#include "daemon/gate.h"

#include <math.h>

/* What such probes can measure at all, and how far one reading may lie from
 * its neighbours before it needs a witness. */
static const struct {
	double low, high, jump;
} bounds[QUANTITIES] = {
	[TEMPERATURE] = { -40, 85, 10 },
	[HUMIDITY] = { 0, 100, 40 },
};

static void pass(struct passed *passed, struct gate *gate, struct sample sample)
{
	passed->samples[passed->count++] = sample;
	gate->last = sample;
	gate->has_last = true;
}

double gate_correct(enum quantity quantity, const struct correction *correction, double raw)
{
	double value = correction->offset + correction->slope * raw;

	/* A corrected humidity may not leave what a humidity can be: a probe
	 * that reads 99.5 % with +2 % says saturated, not 101.5 %. */
	if (quantity == HUMIDITY)
		value = fmin(fmax(value, bounds[HUMIDITY].low), bounds[HUMIDITY].high);
	return value;
}

/* The held value meets its successor. */
static void decide_held(struct passed *passed, struct gate *gate, double jump, double every,
			struct sample next)
{
	bool near_before = fabs(next.value - gate->last.value) <= jump;
	bool in_time = next.time - gate->last.time <= longest_line(every);

	gate->has_held = false;
	if (near_before && in_time) {
		passed->failed = true;
		passed->cause = SPIKE;
	} else {
		pass(passed, gate, gate->held);
	}
}

struct passed gate_take(struct gate *gate, enum quantity quantity,
			const struct correction *correction, double every, struct sample raw)
{
	struct passed passed = { 0 };
	double jump = bounds[quantity].jump;

	if (!(raw.value >= bounds[quantity].low && raw.value <= bounds[quantity].high)) {
		passed.failed = true;
		passed.cause = IMPLAUSIBLE;
		return passed;
	}
	struct sample sample = { raw.time, gate_correct(quantity, correction, raw.value) };

	if (gate->has_held)
		decide_held(&passed, gate, jump, every, sample);
	if (gate->has_last && sample.time - gate->last.time <= longest_line(every) &&
	    fabs(sample.value - gate->last.value) > jump) {
		/* A second far value near the first one confirms it: no need
		 * to wait again. (The first has just become the last.) */
		gate->held = sample;
		gate->has_held = true;
	} else {
		pass(&passed, gate, sample);
	}
	return passed;
}

struct passed gate_release(struct gate *gate, double every, double now)
{
	struct passed passed = { 0 };

	if (gate->has_held && now - gate->last.time > longest_line(every)) {
		gate->has_held = false;
		pass(&passed, gate, gate->held);
	}
	return passed;
}

bool repeat_take(struct repeat *repeat, const struct reading *reading)
{
	bool same = repeat->begun;

	for (int q = 0; q < QUANTITIES; q++) {
		if (repeat->has[q] != reading->has[q] ||
		    (reading->has[q] && repeat->value[q] != reading->value[q]))
			same = false;
		repeat->has[q] = reading->has[q];
		repeat->value[q] = reading->value[q];
	}
	if (!same)
		repeat->since = reading->time;
	repeat->begun = true;
	return reading->time - repeat->since >= FROZEN_AFTER;
}
