/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Made-up dryings; see drying_case.h.
 */
#include "tests/drying_case.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"

/* What no probe tells exactly: up to 0.4 %, never the same. */
static double unrest(size_t i)
{
	unsigned number = (unsigned)i * 2654435761u;

	return 0.8 * ((double)(number ^ number >> 15) / 4294967296.0 - 0.5);
}

void set_step(struct bin *bin, double vapour, size_t i)
{
	bin->ok = DRYING_STEP;
	bin->celsius = WARM;
	bin->humidity = fmin(air_humidity_at(WARM, vapour) + unrest(i), 100);
	bin->vapour = air_vapour_density(WARM, bin->humidity);
}

double vapour_of(double floor, double drop, double time_constant, size_t i)
{
	double hours = ((double)i + 0.5 - MISTED) * DRYING_STEP / 3600;

	return floor + (i < MISTED ? 0 : drop * exp(-hours / time_constant));
}

struct air falling(double floor, double drop, double time_constant, double hours)
{
	size_t count = MISTED + (size_t)(hours * 6);
	struct air air = {
		.inside = { BEGIN, DRYING_STEP, calloc(count, sizeof(struct bin)), count },
		.room = { BEGIN, DRYING_STEP, calloc(count, sizeof(struct bin)), count },
		.band = { .time = -INFINITY, .clock = { 8 * 3600, 20 * 3600, 5400 } },
	};

	for (size_t i = 0; i < count; i++) {
		set_step(&air.inside.list[i], vapour_of(floor, drop, time_constant, i), i);
		set_step(&air.room.list[i], floor, i + 1000);
	}
	return air;
}

struct air usual(void)
{
	return falling(9, 7, 3, 24);
}

struct drying dry(struct air *air)
{
	struct ribbon ribbon = { &air->band, 1 };
	struct drying_air given = { &air->inside, air->has_room ? &air->room : NULL, &ribbon };
	struct misting misting = { BEGIN + MISTED * DRYING_STEP, 40, 70 };
	struct drying drying;

	drying_fit(&given, misting,
		   air->end > 0 ? air->end
				: BEGIN + DRYING_STEP * (double)air->inside.count,
		   &drying);
	free(air->inside.list);
	free(air->room.list);
	return drying;
}
