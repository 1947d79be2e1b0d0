/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The simulated room in motion; see world.h.
 */
#include "contrib/roomsim/world.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "conf/memory.h"
#include "contrib/roomsim/noise.h"
#include "contrib/roomsim/weather.h"

static const double STEP = 10;                  /* s */
static const double SETTLING = 2 * 86400;       /* s run before the beginning */
static const double LIGHTS_ON = 8 * 3600, LIGHTS_OFF = 20 * 3600;
static const double KEEPER_LATE = 600;          /* s: nobody mists by the second */
static const double LATEST_MISTING = 23.5 * 3600;
static const double TOP_WITHIN = 45 * 60;       /* s in which a misting's top is looked for */
static const double DRIFT = 0.5 / 86400;        /* K/s of a thermostat */
static const double DAY_AND_MORE = 26 * 3600;   /* s: a local day is 25 h at most */

/* Streams of chance: one a home, far from those of the probes. */
enum { HOME_STREAM = 1 << 20, BUILD_STREAM = 1 << 21 };

/* ---- birth -------------------------------------------------------------- */

/* A copy of a design differs by a few percent from the one it copies. */
static double vary(const struct world *world, size_t index, int what)
{
	if (index < DESIGNS)
		return 1;
	return 1 + 0.06 * noise_even(world->seed, BUILD_STREAM + index, what);
}

static void furnish_home(struct world *world, size_t index)
{
	struct home *home = &world->homes[index];
	const struct design *design = &designs[index % DESIGNS];
	size_t copy = index / DESIGNS;

	home->design = design;
	home->shell = design->shell;
	home->shell.air_changes *= vary(world, index, 0);
	home->shell.evaporation *= vary(world, index, 1);
	home->shell.loss_warm *= vary(world, index, 2);
	home->shell.mass_warm *= vary(world, index, 3);
	if (copy == 0) {
		snprintf(home->name, sizeof(home->name), "%s", design->name);
		snprintf(home->label, sizeof(home->label), "%s", design->label);
	} else {
		snprintf(home->name, sizeof(home->name), "%s-%zu", design->name, copy + 1);
		snprintf(home->label, sizeof(home->label), "%s %zu", design->label, copy + 1);
	}
}

/* "t3c": the enclosure's name in small letters, and a letter for the place. */
static void name_probe(struct probe_sim *probe, const struct home *home)
{
	static const char letters[PLACES] = { [HOT_SPOT] = 'h', [WARM_SIDE] = 'w',
					      [COOL_SIDE] = 'c', [HUMID_HIDE] = 'm',
					      [EGGS] = 'e' };
	const char *copy = strchr(home->name, '-');
	size_t length = copy ? (size_t)(copy - home->name) : strlen(home->name);

	snprintf(probe->name, sizeof(probe->name), "%.*s%c%s", (int)length, home->name,
		 letters[probe->place], copy ? copy : "");
	for (char *c = probe->name; *c; c++)
		*c = (char)tolower((unsigned char)*c);
}

static void add_probe(struct world *world, const struct probe_sim *probe)
{
	world->probes = must_resize(world->probes, world->probe_count + 1,
				    sizeof(*world->probes));
	world->probes[world->probe_count++] = *probe;
}

static void furnish_probes(struct world *world)
{
	struct probe_sim room = { .name = "room", .home = NO_HOME, .place = ROOM_AIR,
				  .has_humidity = true, .on_board = true };
	size_t on_racks = 0;

	for (size_t i = 0; i < world->home_count; i++)
		for (enum place place = 0; place < PLACES; place++) {
			const struct design *design = world->homes[i].design;
			struct probe_sim probe = { .home = i, .place = place };

			if (!(design->probes & 1u << place))
				continue;
			probe.has_humidity = probe_has_humidity(place);
			probe.on_board = design->on_board & 1u << place;
			if (!probe.on_board) {
				probe.rack = on_racks / ADDRESSES;
				probe.address = FIRST_ADDRESS + (int)(on_racks++ % ADDRESSES);
			}
			name_probe(&probe, &world->homes[i]);
			add_probe(world, &probe);
		}
	add_probe(world, &room);
	world->racks = (on_racks + ADDRESSES - 1) / ADDRESSES;
}

/* ---- time --------------------------------------------------------------- */

static void plan_day(struct world *world)
{
	for (size_t i = 0; i < world->home_count; i++) {
		struct home *home = &world->homes[i];

		for (int k = 0; k < MAX_MISTINGS; k++)
			home->mist_at[k] = home->design->mistings[k].clock * 3600 +
					   KEEPER_LATE * noise_even(world->seed, HOME_STREAM + i,
								    world->day * MAX_MISTINGS + k);
		if (!world->lively)
			continue;
		home->chores = chores_of(world->seed, i, world->day,
					 home->design->build == INCUBATOR);
		for (int k = 0; k < MAX_MISTINGS; k++)
			home->mist_at[k] = fmin(home->mist_at[k] + misting_delay(world->seed, i,
										 world->day, k),
						LATEST_MISTING);
	}
	events_free(&world->today);
	world->today = events_between(&world->events, world->time, world->time + DAY_AND_MORE);
}

static void tell_time(struct world *world)
{
	time_t whole = (time_t)world->time;
	struct tm local;
	long day;

	localtime_r(&whole, &local);
	world->clock = local.tm_hour * 3600.0 + local.tm_min * 60.0 + local.tm_sec;
	world->lit = world->clock >= LIGHTS_ON && world->clock < LIGHTS_OFF;
	day = (local.tm_year * 366L) + local.tm_yday;
	if (day != world->day) {
		world->day = day;
		plan_day(world);
	}
}

/* The probes that this misting wets, as bits 1 << place; nobody sprays into the hide. */
static unsigned wet_probes(struct world *world, const struct home *home, int number)
{
	unsigned wet = 0;

	for (size_t i = 0; world->lively && i < world->probe_count; i++) {
		struct probe_sim *probe = &world->probes[i];
		struct wetting wetting;

		if (probe->home != (size_t)(home - world->homes) || !probe->has_humidity ||
		    probe->place == HUMID_HIDE)
			continue;
		wetting = misting_wets(world->seed, i, world->day, number);
		if (wetting.lasts <= 0)
			continue;
		probe->wet_until = world->time + wetting.lasts;
		probe->wetting = wetting;
		wet |= 1u << probe->place;
	}
	return wet;
}

/* What a dry probe without a fault would say at the cool side, %. */
static double cool_humidity(const struct home *home)
{
	return relative_humidity(home->inside.cool, home->inside.vapour);
}

static void mist(struct world *world, struct home *home)
{
	for (int k = 0; k < MAX_MISTINGS; k++) {
		const struct misting *misting = &home->design->mistings[k];
		double since = world->clock - home->mist_at[k], now = cool_humidity(home);

		if (misting->soak <= 0 || since < 0 || since >= STEP ||
		    event_on(&world->today, MISSED_MISTING, home->name, world->time))
			continue;
		inside_mist(&home->shell, &home->inside, misting->film, misting->soak);
		world->misted = must_resize(world->misted, world->misted_count + 1,
					    sizeof(*world->misted));
		world->misted[world->misted_count++] = (struct misted){
			.home = (size_t)(home - world->homes), .time = world->time,
			.film = misting->film, .from = now, .to = now,
			.wet = misting->film > 0 ? wet_probes(world, home, k) : 0 };
	}
}

static void follow_mistings(struct world *world)
{
	for (size_t i = world->misted_count; i-- > 0;) {
		struct misted *misted = &world->misted[i];

		if (world->time - misted->time > TOP_WITHIN)
			break;
		misted->to = fmax(misted->to, cool_humidity(&world->homes[misted->home]));
	}
}

/* The cut is the room's or one socket's. */
static bool powered(const struct world *world, const char *name)
{
	return !event_on(&world->today, POWER_CUT, "room", world->time) &&
	       !event_on(&world->today, POWER_CUT, name, world->time);
}

/* The keeper's hands: is it open, and is it being cleaned? */
static void use_hands(const struct world *world, struct home *home)
{
	home->open = home->cleaned = false;
	for (size_t i = 0; i < home->chores.count; i++) {
		const struct opening *opening = &home->chores.openings[i];

		if (world->clock < opening->from || world->clock >= opening->until)
			continue;
		home->open = true;
		home->cleaned = home->cleaned || opening->cleaning;
	}
}

static struct around around_home(const struct world *world, const struct home *home)
{
	const struct events *events = &world->today;

	return (struct around){
		.temperature = world->room.temperature,
		.vapour = world->room.vapour,
		.day = world->lit,
		.powered = powered(world, home->name),
		.stuck = event_on(events, STUCK_HEATER, home->name, world->time),
		.dead = event_on(events, DEAD_HEATER, home->name, world->time),
		.drift = DRIFT * event_age(events, DRIFTING_THERMOSTAT, home->name, world->time),
		.stirred = event_on(events, LOST_GRADIENT, home->name, world->time),
		.open = home->open || event_on(events, DOOR_OPEN, home->name, world->time),
	};
}

/* What surrounds the room.  A bigger world has a bigger room, so the heat
 * counts as if there were one home of each design. */
static struct room_around around_room(const struct world *world)
{
	struct outdoor outdoor = weather_at(world->seed, world->time, world->clock);
	struct room_around around = {
		.outdoor_temperature = outdoor.temperature,
		.outdoor_vapour = outdoor.vapour,
		.day = world->lit,
		.powered = powered(world, "room"),
		.dry = event_on(&world->today, DRY_AIR, "room", world->time),
	};

	for (size_t i = 0; i < world->home_count; i++)
		around.heat += world->homes[i].inside.heat;
	around.heat *= (double)DESIGNS / (double)world->home_count;
	return around;
}

static void step(struct world *world)
{
	struct room_around around = around_room(world);

	room_step(&world->room, &around, STEP);
	world->time += STEP;
	tell_time(world);
	for (size_t i = 0; i < world->home_count; i++) {
		struct home *home = &world->homes[i];
		struct around outside;

		use_hands(world, home);
		outside = around_home(world, home);
		mist(world, home);
		inside_step(&home->shell, &home->inside, &outside, STEP);
	}
	follow_mistings(world);
}

void world_advance(struct world *world, double now)
{
	while (world->time + STEP <= now)
		step(world);
}

struct world *world_new(uint64_t seed, size_t enclosures)
{
	struct world *world = must_calloc(1, sizeof(*world));

	world->seed = seed;
	world->home_count = enclosures;
	world->homes = must_calloc(enclosures, sizeof(*world->homes));
	for (size_t i = 0; i < enclosures; i++)
		furnish_home(world, i);
	furnish_probes(world);
	return world;
}

void world_begin(struct world *world, double start, bool lively, struct events events)
{
	struct room_around around;

	world->lively = lively;
	world->events = events;
	world->time = floor(start / STEP) * STEP - SETTLING;
	tell_time(world);
	around = around_room(world);
	world->room = room_begin(&around);
	for (size_t i = 0; i < world->home_count; i++) {
		struct home *home = &world->homes[i];
		struct around outside = around_home(world, home);

		home->inside = inside_begin(&home->shell, &outside);
	}
	world_advance(world, start);
}

void world_free(struct world *world)
{
	if (!world)
		return;
	events_free(&world->events);
	events_free(&world->today);
	free(world->misted);
	free(world->homes);
	free(world->probes);
	free(world);
}
