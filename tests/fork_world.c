/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * fork_world SEED BEGIN DAYS EVERY HORIZON: the truth that run-backtest.sh holds forecasts
 * against.  Runs the world whose recording `roomsim record --calm --life` writes; after each EVERY
 * days (from the 15th on, at 7, 13 and 19 h UTC by turns) a copy of it goes on with
 * nobody there for HORIZON hours: no mistings, no open doors.  A line for each enclosure
 *
 *   TIME ENCLOSURE BUILD HUMIDITY...
 *
 * the true relative humidity at the cool side or the eggs, the mean of half an hour, at TIME and
 * every ten minutes from then on until HORIZON.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/words.h"
#include "contrib/roomsim/world.h"

enum { MINUTES = 30, STEP_MINUTES = 10, WARM_UP_DAYS = 15 };

static const double DAY = 86400;

/* The last minutes of one enclosure's humidity, %. */
struct memory {
	double minutes[MINUTES];
};

static double humidity_of(const struct home *home)
{
	const struct inside *inside = &home->inside;
	double celsius = home->design->probes & 1u << COOL_SIDE
				 ? inside->cool
				 : (inside->warm + inside->cool) / 2;

	return relative_humidity(celsius, inside->vapour);
}

static double mean_of(const struct memory *memory)
{
	double sum = 0;

	for (int i = 0; i < MINUTES; i++)
		sum += memory->minutes[i];
	return sum / MINUTES;
}

static void go_on(struct world *world, struct memory *memories, double now)
{
	world_advance(world, now);
	for (size_t i = 0; i < world->home_count; i++)
		memories[i].minutes[lrint(now / 60) % MINUTES] = humidity_of(&world->homes[i]);
}

/* A copy that nobody visits. */
static struct world leave_alone(const struct world *world, double hours)
{
	struct world copy = *world;

	copy.lively = false;
	copy.misted = NULL;
	copy.misted_count = 0;
	copy.homes = must_calloc(world->home_count, sizeof *copy.homes);
	memcpy(copy.homes, world->homes, world->home_count * sizeof *copy.homes);
	for (size_t i = 0; i < copy.home_count; i++)
		copy.homes[i].chores.count = 0;
	copy.events = (struct events){ 0 };
	event_add(&copy.events, MISSED_MISTING, "all", world->time, hours * 3600 + DAY);
	copy.today = events_between(&copy.events, world->time, world->time + 2 * DAY);
	return copy;
}

static void fork_now(const struct world *world, const struct memory *memories, double hours)
{
	struct world copy = leave_alone(world, hours);
	size_t steps = (size_t)(hours * 60 / STEP_MINUTES) + 1;
	struct memory *own = must_calloc(copy.home_count, sizeof *own);
	double *means = must_calloc(copy.home_count * steps, sizeof *means);

	memcpy(own, memories, copy.home_count * sizeof *own);
	for (size_t k = 0; k < steps; k++) {
		for (int minute = 1; k > 0 && minute <= STEP_MINUTES; minute++)
			go_on(&copy, own, copy.time + 60);
		for (size_t i = 0; i < copy.home_count; i++)
			means[i * steps + k] = mean_of(&own[i]);
	}
	for (size_t i = 0; i < copy.home_count; i++) {
		printf("%.0f %s %s", world->time, copy.homes[i].name,
		       build_word(copy.homes[i].design->build));
		for (size_t k = 0; k < steps; k++)
			printf(" %.2f", means[i * steps + k]);
		putchar('\n');
	}
	free(means);
	free(own);
	free(copy.homes);
	events_free(&copy.events);
	events_free(&copy.today);
}

int main(int argc, char **argv)
{
	double number[5] = { 0 };
	struct world *world;
	struct memory *memories;

	for (int i = 0; i < 5 && argc == 6; i++)
		number[i] = strtod(argv[i + 1], NULL);
	if (!(number[3] > 0)) {
		fputs("usage: fork_world SEED BEGIN DAYS EVERY HORIZON\n", stderr);
		return 2;
	}
	world = world_new((uint64_t)number[0], DESIGNS);
	memories = must_calloc(world->home_count, sizeof *memories);
	world_begin(world, number[1], true, (struct events){ 0 });
	for (int k = 0;; k++) {
		double day = WARM_UP_DAYS + floor(k * number[3]);
		double at = number[1] + day * DAY + (7 + k % 3 * 6) * 3600;

		if (at > number[1] + number[2] * DAY)
			break;
		for (int minute = MINUTES; minute-- > 0;)
			go_on(world, memories, at - 60 * minute);
		fork_now(world, memories, number[4]);
	}
	free(memories);
	world_free(world);
	return 0;
}
