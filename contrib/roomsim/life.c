/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A healthy room's happenings; see life.h.
 */
#include "contrib/roomsim/life.h"

#include <math.h>

#include "contrib/roomsim/noise.h"

static const double HOUR = 3600, MINUTE = 60;
static const double DRIES = 120;        /* s: time constant of a probe's last water */

/* Streams of chance: one an enclosure or a probe, far from all others. */
enum { CHORE_STREAM = 1 << 22, LATE_STREAM = 3 << 21, FATE_STREAM = 1 << 23,
       LOOSE_STREAM = 3 << 22, WET_STREAM = 1 << 24 };

/* Even from low to high. */
static double between(uint64_t seed, uint64_t stream, int64_t index, double low, double high)
{
	return low + (high - low) * (noise_even(seed, stream, index) + 1) / 2;
}

static void open_for(struct chores *chores, double from, double seconds, bool cleaning)
{
	chores->openings[chores->count++] = (struct opening){ from, from + seconds, cleaning };
}

struct chores chores_of(uint64_t seed, size_t home, long day, bool left_alone)
{
	uint64_t stream = CHORE_STREAM + home;
	int64_t index = day * 8;
	struct chores chores = { 0 };

	if (left_alone) {
		if ((day + (long)home) % 7 == 0)
			open_for(&chores, between(seed, stream, index, 10 * HOUR, 18 * HOUR),
				 MINUTE, false);
		return chores;
	}
	if ((day + (long)home) % 7 == 0)
		open_for(&chores, between(seed, stream, index, 10 * HOUR, 18 * HOUR),
			 between(seed, stream, index + 1, 10 * MINUTE, 20 * MINUTE), true);
	for (int i = 0; i < 2; i++)
		if (noise_even(seed, stream, index + 2 + i) > -0.4)
			open_for(&chores,
				 between(seed, stream, index + 4 + i, 8.5 * HOUR, 21.5 * HOUR),
				 between(seed, stream, index + 6 + i, 2 * MINUTE, 5 * MINUTE),
				 false);
	return chores;
}

double misting_delay(uint64_t seed, size_t home, long day, int misting)
{
	double chance = between(seed, LATE_STREAM + home, day * 4 + misting, 0, 25);

	return chance < 1 ? (1 + 3 * chance) * HOUR : 0;
}

struct wetting misting_wets(uint64_t seed, uint64_t probe, long day, int misting)
{
	uint64_t stream = WET_STREAM + probe;
	int64_t index = (day * 4 + misting) * 4;

	if (between(seed, stream, index, 0, 12) >= 1)
		return (struct wetting){ 0 };
	return (struct wetting){ between(seed, stream, index + 1, 20 * MINUTE, 100 * MINUTE),
				 between(seed, stream, index + 2, 98, 100),
				 between(seed, stream, index + 3, 0.5, 1) };
}

double still_wet(double since_over)
{
	return exp(-fmax(since_over, 0) / DRIES);
}

enum fate reading_fate(uint64_t seed, uint64_t probe, int64_t now, bool checked)
{
	double chance = between(seed, FATE_STREAM + probe, now, 0, 10000);

	if (chance < 1)
		return checked ? MISSED : GARBLED;
	return chance < 21 ? MISSED : ARRIVES;
}

enum fate loose_contact(uint64_t seed, uint64_t probe, int64_t now, int *tenths_celsius,
			int *tenths_percent)
{
	uint64_t stream = LOOSE_STREAM + probe;
	double chance = between(seed, stream, now * 3, 0, 1);

	if (chance < 0.45)
		return MISSED;
	if (chance < 0.75) {
		*tenths_celsius = (int)between(seed, stream, now * 3 + 1, -350, 800);
		*tenths_percent = (int)between(seed, stream, now * 3 + 2, 0, 1000);
	}
	return ARRIVES;
}
