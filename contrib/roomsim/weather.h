/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air outside the house, a pure function of seed and time: a temperate
 * year with fronts passing every few days.
 */
#ifndef WARMSIDE_ROOMSIM_WEATHER_H
#define WARMSIDE_ROOMSIM_WEATHER_H

#include <stdint.h>

struct outdoor {
	double temperature;     /* °C */
	double vapour;          /* g/m³ */
};

/* time: s since the epoch; clock: s after local midnight. */
struct outdoor weather_at(uint64_t seed, double time, double clock);

#endif
