/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An invented tub whose air and substrate are known, for tests of when a misting
 * is due.  Its course is integrated here step by step, without course_step.
 */
#ifndef WARMSIDE_TESTS_TUB_H
#define WARMSIDE_TESTS_TUB_H

#include <stdio.h>

#include "conf/air.h"
#include "conf/dryinglog.h"

/* An invented tub: after a misting its air is at rest in three hours. */
static const struct course_law tub = { .airing = 0.5, .exchange = 0.5, .capacity = 150 };
static const double ROOM = 8.65; /* g/m³: 20 °C, 50 % */

static inline struct drying_record record_of(const char *enclosure, double to)
{
	struct drying_record record = { .place = COOL_SIDE, .from = to - 86400, .to = to,
					.has_law = true, .law = tub };

	snprintf(record.enclosure, sizeof record.enclosure, "%s", enclosure);
	for (int hour = 0; hour < HOURS_A_DAY; hour++) {
		record.has_hour[hour] = true;
		record.celsius[hour] = 25;
	}
	return record;
}

/* So many seconds at a temperature, a second a step. */
static inline void let_pass(struct course_state *state, double celsius, double seconds)
{
	double saturated = air_vapour_density(celsius, 100);

	for (double t = 0; t < seconds; t++) {
		double given = tub.exchange * (state->activity * saturated - state->vapour);

		state->vapour += (tub.airing * (ROOM - state->vapour) + given) / 3600;
		state->activity -= given / tub.capacity / 3600;
	}
}

/* Air that keeps its store steady. */
static inline struct course_state at_rest(double celsius, double activity)
{
	double saturated = air_vapour_density(celsius, 100);

	return (struct course_state){
		(tub.airing * ROOM + tub.exchange * activity * saturated) /
			(tub.airing + tub.exchange), activity };
}

static inline double humidity_of(const struct course_state *state, double celsius)
{
	return air_humidity_at(celsius, state->vapour);
}

#endif
