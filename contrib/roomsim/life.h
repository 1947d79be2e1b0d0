/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What happens in a healthy room: the keeper's hands at the enclosures, and
 * readings that now and then do not arrive.  Pure functions of seed and time.
 */
#ifndef WARMSIDE_ROOMSIM_LIFE_H
#define WARMSIDE_ROOMSIM_LIFE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { MOST_OPENINGS = 3 };

/* The enclosure stands open; while it is cleaned its probes lie outside. */
struct opening {
	double from, until;     /* s after local midnight */
	bool cleaning;
};

struct chores {
	struct opening openings[MOST_OPENINGS];
	size_t count;
};

/* One day (a number that grows by one a day) at one enclosure: every seventh
 * day a cleaning of 10 to 20 minutes, and up to two openings of 2 to 5.  What
 * is left alone (eggs) has one short look every seventh day. */
struct chores chores_of(uint64_t seed, size_t home, long day, bool left_alone);

/* s by which a day's misting of that number comes late: mostly 0, one time in
 * 25 one to four hours. */
double misting_delay(uint64_t seed, size_t home, long day, int misting);

/* What a probe that was sprayed says until it has dried: nearly 100 %, and less
 * warmth than there is, for the water on it evaporates. */
struct wetting {
	double lasts;           /* s from the misting on; 0: it stayed dry */
	double humidity;        /* %, 98..100 */
	double chill;           /* K, 0.5..1 */
};

/* What a day's misting of that number did to a probe: one in 12 wets it, for 20
 * to 100 minutes: shorter than limits_patience, so that a healthy room stays silent. */
struct wetting misting_wets(uint64_t seed, uint64_t probe, long day, int misting);

/* How much a probe still is of what a wet one says, 0..1: all of it until it is over, so
 * many seconds ago, and then within minutes nothing. */
double still_wet(double since_over);

/* What becomes of a reading: one in 500 is missed; one in 10,000 is damaged,
 * which a checksum turns into a missed one, and a board's bare line does not. */
enum fate { ARRIVES, MISSED, GARBLED };
enum fate reading_fate(uint64_t seed, uint64_t probe, int64_t now, bool checked);

/* A reading over a loose contact: nothing, anything, or the truth. */
enum fate loose_contact(uint64_t seed, uint64_t probe, int64_t now, int *tenths_celsius,
			int *tenths_percent);

#endif
