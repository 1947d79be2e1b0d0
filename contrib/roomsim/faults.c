/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Real faults by chance; see faults.h.
 */
#include "contrib/roomsim/faults.h"

#include <math.h>

#include "contrib/roomsim/noise.h"

static const double DAY = 86400, HOUR = 3600;

enum { FAULT_STREAM = 1 << 24, MOST_WHOSE = 8 };

struct scenario {
	enum mishap mishap;
	double clock_from, clock_to;    /* h of the day (UTC) at which it begins */
	double hours_from, hours_to;    /* how long it lasts */
	const char *whose[MOST_WHOSE];  /* ended by NULL */
};

static const struct scenario scenarios[] = {
	{ STUCK_HEATER, 0, 24, 10, 24, { "T1", "T3", "P1", "M1", "G1", "I1" } },
	{ SILENT_PROBE, 0, 24, 1, 48, { "t2c", "p2h", "g2w", "room", "i1e" } },
	{ DEAD_HEATER, 0, 24, 30, 48, { "T2", "P1", "P2", "M1", "M2", "G1", "I1" } },
	{ POWER_CUT, 9.5, 12, 4, 8, { "room" } },
	{ MISSED_MISTING, 6, 7, 96, 120, { "G2", "M1", "P1" } },
	{ CHATTERING_PROBE, 0, 24, 3, 48, { "t4c", "p1w", "s1c", "g1m", "m1c" } },
	{ DOOR_OPEN, 15, 20, 20, 30, { "T1", "P1", "M1", "G2" } },
	{ FROZEN_PROBE, 0, 24, 60, 96, { "t1w", "p2c", "m2h", "g2c", "s1c" } },
	{ DRY_AIR, 18, 22, 36, 48, { "room" } },
	{ SILENT_PROBE, 0, 24, 1, 24, { "rack", "board" } },
	{ LOST_GRADIENT, 0, 24, 30, 60, { "T3", "P1", "M1", "G1" } },
	{ DRIFTING_THERMOSTAT, 0, 12, 120, 144, { "T4", "P1", "G1", "I1", "M1" } },
};

/* Even from low to high. */
static double between(uint64_t seed, int64_t index, double low, double high)
{
	return low + (high - low) * (noise_even(seed, FAULT_STREAM, index) + 1) / 2;
}

void faults_by_chance(struct events *events, uint64_t seed, double start, double days,
		      size_t count)
{
	const size_t kinds = sizeof(scenarios) / sizeof(scenarios[0]);
	double part = days / (double)count * DAY;

	for (size_t i = 0; i < count; i++) {
		const struct scenario *scenario = &scenarios[i % kinds];
		int64_t index = (int64_t)i * 4;
		size_t names = 0, turn = i / kinds + noise_bits(seed, FAULT_STREAM, -1) % MOST_WHOSE;
		double day = ceil((start + part * (double)i) / DAY) * DAY;
		double from = day + HOUR * between(seed, index, scenario->clock_from,
						   scenario->clock_to);
		double hours = between(seed, index + 1, scenario->hours_from, scenario->hours_to);

		while (names < MOST_WHOSE && scenario->whose[names])
			names++;
		/* A day of peace before the next, in which it is seen to be over. */
		event_add(events, scenario->mishap, scenario->whose[turn % names], from,
			  fmin(hours * HOUR, part - 2 * DAY));
	}
}
