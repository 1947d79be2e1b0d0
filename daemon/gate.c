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

enum { CALM_AFTER = 30 }; /* values that count, for one spike to be forgotten */

static bool is_doubted(const struct gate *gate)
{
	return gate->patchy || gate->doubt >= DOUBTFUL;
}

static void pass(struct passed *passed, struct gate *gate, struct sample sample)
{
	passed->samples[passed->count++] = sample;
	gate->last = sample;
	gate->has_last = true;
	if (gate->doubt > 0 && ++gate->calm >= CALM_AFTER) {
		gate->doubt--;
		gate->calm = 0;
	}
}

static void pass_held(struct passed *passed, struct gate *gate)
{
	size_t count = gate->held_count;

	gate->held_count = 0;
	for (size_t i = 0; i < count; i++)
		pass(passed, gate, gate->held[i]);
}

static void drop_held(struct passed *passed, struct gate *gate)
{
	gate->held_count = 0;
	gate->calm = 0;
	if (gate->doubt < 2 * DOUBTFUL)
		gate->doubt++;
	passed->failed = true;
	passed->cause = SPIKE;
}

bool gate_is_plausible(enum quantity quantity, double raw)
{
	return raw >= bounds[quantity].low && raw <= bounds[quantity].high;
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

static bool near(struct sample a, struct sample b, double jump)
{
	return fabs(a.value - b.value) <= jump;
}

/* The held values meet their successor.  True when that waits with them. */
static bool decide_held(struct passed *passed, struct gate *gate, double jump, double every,
			struct sample next)
{
	struct sample newest = gate->held[gate->held_count - 1];
	bool late = next.time - gate->last.time > longest_line(every) && !is_doubted(gate);
	bool goes_on = near(next, newest, jump), goes_back = near(next, gate->last, jump);

	if (!late && (goes_back || !goes_on)) {
		drop_held(passed, gate);
	} else if (goes_on && is_doubted(gate) && gate->held_count < HELD_MOST) {
		gate->held[gate->held_count++] = next;
		return true;
	} else {
		pass_held(passed, gate); /* borne out, or nothing followed it in time */
	}
	return false;
}

struct passed gate_take(struct gate *gate, enum quantity quantity,
			const struct correction *correction, double every, struct sample raw)
{
	struct passed passed = { 0 };
	/* Of a doubted probe less is believed at once. */
	double jump = bounds[quantity].jump / (is_doubted(gate) ? 3 : 1);

	if (!gate_is_plausible(quantity, raw.value)) {
		passed.failed = true;
		passed.cause = IMPLAUSIBLE;
		return passed;
	}
	struct sample sample = { raw.time, gate_correct(quantity, correction, raw.value) };

	if (gate->held_count > 0 && decide_held(&passed, gate, jump, every, sample))
		return passed;
	bool joined = gate->has_last && (is_doubted(gate) || sample.time - gate->last.time <=
								    longest_line(every));

	if (joined && !near(sample, gate->last, jump)) {
		/* Those that follow near it confirm it: it waits for them. */
		gate->held[0] = sample;
		gate->held_count = 1;
	} else {
		pass(&passed, gate, sample);
	}
	return passed;
}

struct passed gate_release(struct gate *gate, double every, double now)
{
	struct passed passed = { 0 };

	if (gate->held_count == 0 || now - gate->last.time <= longest_line(every))
		return passed;
	if (!is_doubted(gate))
		pass_held(&passed, gate);
	else if (now - gate->held[gate->held_count - 1].time > longest_line(every))
		drop_held(&passed, gate);
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
