/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Vapour between salt, jar and room; see made_jar.h.
 */
#include "tests/made_jar.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "report/chance.h"

enum { BEFORE = 86400, MINUTE = 60 };

const struct made_jar usual_jar = {
	.salt = NACL, .hours = 14, .delay = 1.2, .begin = 48, .celsius = 22, .swing = 0.4,
	.room = 45, .room_swing = 6, .error = 2.3, .slope = 1, .noise = 0.15, .step = 0.1,
};

size_t made_jar_seeds(void)
{
	return getenv("LONG") ? 1000 : 16;
}

struct bins made_jar_bins(double from, double to)
{
	size_t count = (size_t)((to - from) / JAR_STEP);

	return (struct bins){ from, JAR_STEP, calloc(count + 1, sizeof(struct bin)), count };
}

static void put(struct bins *bins, double time, double celsius, double humidity)
{
	struct bin *bin = &bins->list[(size_t)((time - bins->from) / bins->step)];
	double kept = bin->ok / (bin->ok + MINUTE);

	bin->celsius = bin->celsius * kept + celsius * (1 - kept);
	bin->humidity = bin->humidity * kept + humidity * (1 - kept);
	bin->ok += MINUTE;
}

void made_jar_make(const struct made_jar *made, uint64_t seed, struct jar_case *out)
{
	double end = JAR_BEGIN + made->hours * 3600, phase, wander = 0, vapour_room;
	double salt_celsius = made->celsius, humidity;
	double vapour = made->begin * air_saturation_pressure(made->celsius);

	*out = (struct jar_case){ .inside = made_jar_bins(JAR_BEGIN, end),
				  .room = made_jar_bins(JAR_BEGIN - BEFORE, end) };
	out->chance = seed;
	phase = chance_even(&out->chance) * 24;
	out->salt_error = (2 * chance_even(&out->chance) - 1) *
			  salt_uncertainty(made->salt, made->celsius);
	for (double t = JAR_BEGIN - BEFORE; t < end; t += MINUTE) {
		double day = sin(((t - JAR_BEGIN) / 3600 + phase) / 24 * 2 * 3.14159265358979);
		double celsius = made->celsius + made->swing * day;

		/* Weather: about an hour and a half to forget itself. */
		wander += -wander / 90 + chance_normal(&out->chance) * 0.15;
		vapour_room = fmin(fmax(made->room - made->room_swing * day + wander, 5), 95);
		put(&out->room, t, celsius, vapour_room);
		salt_celsius += (celsius - salt_celsius) * (1 - exp(-1 / 30.0));
		if (t < JAR_BEGIN)
			continue;

		/* Vapour goes from the salt into the air and through the leak. */
		double salt = salt_humidity(made->salt, salt_celsius) + out->salt_error;
		double over = salt * air_saturation_pressure(salt_celsius);
		double outside = vapour_room * air_saturation_pressure(celsius);
		double rest = over + made->leak * (outside - over);
		double rate = 1 / made->delay / (1 - fmin(made->leak, 0.9));

		vapour += (rest - vapour) * (1 - exp(-rate / 60));
		humidity = vapour / air_saturation_pressure(celsius);

		bool out_of_it = made->opened > 0 && t >= end - made->opened * 3600;
		double read = made->slope * (out_of_it ? vapour_room : humidity) + made->error +
			      made->noise * chance_normal(&out->chance);

		double left = (end - t) / 3600;

		if ((made->hidden > 0 && left <= made->hidden) ||
		    (left > made->hole_end && left <= made->hole_end + made->hole))
			continue;
		read = fmin(fmax(round(read / made->step) * made->step, 0), 100);
		put(&out->inside, t, round(celsius * 10) / 10, read);
	}
}

void made_jar_look(const struct made_jar *made, uint64_t seed, bool with_room, struct jar *out)
{
	struct jar_case at;

	made_jar_make(made, seed, &at);

	struct jar_past past = { &at.inside, with_room ? &at.room : NULL, made->salt, made->step };

	jar_look(&past, out);
	free(at.inside.list);
	free(at.room.list);
}
