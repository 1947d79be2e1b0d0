/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the probes of the simulated room say; see world.h.
 */
#include <math.h>
#include <string.h>

#include "contrib/roomsim/noise.h"
#include "contrib/roomsim/world.h"

static const double NOISE_CELSIUS = 0.06, NOISE_HUMIDITY = 0.4; /* one reading */
static const double LIVELY_CELSIUS = 0.2, LIVELY_HUMIDITY = 1.5;

enum { PROBE_STREAM = 1 };      /* of chance: one a probe; see world.c */

const char *probe_home(const struct world *world, const struct probe_sim *probe)
{
	return probe->home == NO_HOME ? "room" : world->homes[probe->home].name;
}

static void truth(const struct world *world, const struct probe_sim *probe, double *celsius,
		  double *vapour)
{
	const struct inside *inside;

	*celsius = world->room.temperature;
	*vapour = world->room.vapour;
	if (probe->home == NO_HOME || world->homes[probe->home].cleaned)
		return;
	inside = &world->homes[probe->home].inside;
	*vapour = probe->place == HUMID_HIDE ? inside->hide : inside->vapour;
	*celsius = probe->place == HOT_SPOT     ? inside->spot
		   : probe->place == WARM_SIDE  ? inside->warm
		   : probe->place == HUMID_HIDE ? hide_temperature(inside)
		   : probe->place == EGGS       ? (inside->warm + inside->cool) / 2
						: inside->cool;
}

/* The truth, the probe's own faults and noise, rounded to a tenth. */
static void sense(const struct world *world, const struct probe_sim *probe, double now,
		  int tenths[QUANTITIES])
{
	uint64_t stream = PROBE_STREAM + (uint64_t)(probe - world->probes);
	double wet = probe->wet_until > 0 ? still_wet(now - probe->wet_until) : 0;
	double celsius, vapour, humidity;

	truth(world, probe, &celsius, &vapour);
	humidity = relative_humidity(celsius, vapour);
	if (probe->home == OFFSET_DESIGN && probe->place == COOL_SIDE) {
		celsius += OFFSET_CELSIUS;
		humidity += OFFSET_HUMIDITY;
	}
	humidity += wet * (probe->wetting.humidity - humidity);
	celsius -= wet * probe->wetting.chill;
	celsius += (world->lively ? LIVELY_CELSIUS : NOISE_CELSIUS) *
		   noise_bell(world->seed, stream, (int64_t)now * 2);
	humidity += (world->lively ? LIVELY_HUMIDITY : NOISE_HUMIDITY) *
		    noise_bell(world->seed, stream, (int64_t)now * 2 + 1);
	tenths[TEMPERATURE] = (int)lrint(celsius * 10);
	tenths[HUMIDITY] = (int)lrint(fmin(fmax(humidity, 0), 100) * 10);
}

static bool suffers(const struct world *world, enum mishap mishap, const struct probe_sim *probe,
		    double now)
{
	return event_on(&world->today, mishap, probe->name, now) ||
	       event_on(&world->today, mishap, probe_home(world, probe), now) ||
	       event_on(&world->today, mishap, probe->on_board ? "board" : "rack", now);
}

/* What becomes of a good reading on its way. */
static enum fate carry(const struct world *world, const struct probe_sim *probe, double now,
		       int tenths[QUANTITIES])
{
	uint64_t number = (uint64_t)(probe - world->probes);
	enum fate fate = ARRIVES;

	if (suffers(world, CHATTERING_PROBE, probe, now))
		return loose_contact(world->seed, number, (int64_t)now, &tenths[TEMPERATURE],
				     &tenths[HUMIDITY]);
	if (world->lively)
		fate = reading_fate(world->seed, number, (int64_t)now, !probe->on_board);
	if (fate == GARBLED) { /* the line lost its first digit */
		tenths[TEMPERATURE] %= 100;
		tenths[HUMIDITY] %= 100;
	}
	return fate;
}

enum answer world_read(struct world *world, struct probe_sim *probe, double now,
		       int tenths[QUANTITIES])
{
	if (suffers(world, SILENT_PROBE, probe, now))
		return KEEPS_SILENT;
	if (!probe->seen || !suffers(world, FROZEN_PROBE, probe, now))
		sense(world, probe, now, probe->last);
	probe->seen = true;
	memcpy(tenths, probe->last, sizeof(probe->last));
	if (carry(world, probe, now, tenths) == MISSED)
		return KEEPS_SILENT;
	return suffers(world, CORRUPT_FRAMES, probe, now) ? ANSWERS_DAMAGED : ANSWERS;
}
