/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air by the law; see made_air.h.
 */
#include "tests/made_air.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "contrib/roomsim/noise.h"

static const double DAY = 86400, STEP = 600, MINUTE = 60;
static const double DOOR = 25;                  /* 1/h: what an open door changes of the air */

static double turn_of_day(double instant)
{
	return 2 * M_PI * instant / DAY;
}

double made_celsius(double instant)
{
	return 24 + 2 * sin(turn_of_day(instant));
}

struct course_around made_around(double instant)
{
	return (struct course_around){ air_vapour_density(made_celsius(instant), 100),
				       7 + sin(turn_of_day(instant) + 1) };
}

/* Is it the minute of a misting? */
static bool is_misted(const struct made_air *air, long minute)
{
	long a_day = 24 * 60, since = minute % a_day - 8 * 60;
	bool today = air->every == 0 || minute / a_day % air->every == 0;

	return air->misted > 0 && today && since >= 0 && since % (12 * 60 / air->misted) == 0 &&
	       since / (12 * 60 / air->misted) < air->misted;
}

/* Four minutes at noon and in the evening of most days. */
static bool is_open(const struct made_air *air, long minute)
{
	long of_day = minute % (24 * 60), day = minute / (24 * 60);

	return air->doors && ((of_day >= 747 && of_day < 751 && day % 3 != 1) ||
			      (of_day >= 1174 && of_day < 1178 && day % 4 != 2));
}

static void add_misting(struct made_air *air, double at, int number)
{
	if (number >= 2 && number < 2 + air->unseen)
		return;
	air->mistings.list = must_resize(air->mistings.list, air->mistings.count + 1,
					 sizeof *air->mistings.list);
	air->mistings.list[air->mistings.count++] = (struct misting){ at, 50, 60 };
}

static void add_minute(struct made_air *air, size_t step, double at)
{
	struct bin *inside = &air->inside.list[step], *room = &air->room.list[step];
	double share = MINUTE / STEP;

	inside->ok += MINUTE;
	inside->celsius += share * made_celsius(at);
	inside->vapour += share * air->now.vapour;
	room->ok += MINUTE;
	room->celsius += share * 20;
	room->vapour += share * made_around(at).room;
}

/* The humidity of a step is what its probe says; so is the vapour made from it. */
static void read_step(struct made_air *air, size_t step)
{
	struct bin *inside = &air->inside.list[step], *room = &air->room.list[step];

	inside->humidity = air_humidity_at(inside->celsius, inside->vapour) +
			   air->noise * noise_bell(air->seed, 7, (int64_t)step);
	inside->vapour = air_vapour_density(inside->celsius, inside->humidity);
	if (fabs((double)step * STEP / DAY - air->gap_from - air->gap_days / 2) < air->gap_days / 2)
		*inside = (struct bin){ 0 };
	room->humidity = air_humidity_at(room->celsius, room->vapour);
}

void made_air_make(struct made_air *air)
{
	size_t count = (size_t)lrint(air->days * DAY / STEP);
	int number = 0;
	struct course_around around = made_around(MADE_BEGIN);

	air->inside = (struct bins){ MADE_BEGIN, STEP, must_calloc(count, sizeof(struct bin)),
				     count };
	air->room = (struct bins){ MADE_BEGIN, STEP, must_calloc(count, sizeof(struct bin)),
				   count };
	air->mistings = (struct mistings){ 0 };
	air->now = (struct course_state){ 0.5 * around.saturated, MADE_FULL };
	for (long minute = 0; minute < (long)count * 10; minute++) {
		double at = MADE_BEGIN + (double)minute * MINUTE;
		struct course_law law = air->law;

		around = made_around(at + MINUTE / 2);
		if (is_misted(air, minute)) {
			air->now.activity = MADE_FULL;
			air->now.vapour = fmin(air->now.vapour + 3, around.saturated);
			add_misting(air, at, number++);
		}
		if (is_open(air, minute))
			law.airing = DOOR;
		air->now = course_step(&law, air->now, &around, MINUTE / 3600);
		add_minute(air, (size_t)minute / 10, at + MINUTE / 2);
		if (minute % 10 == 9)
			read_step(air, (size_t)minute / 10);
	}
}

void made_air_clear(struct made_air *air)
{
	bins_clear(&air->inside);
	bins_clear(&air->room);
	mistings_clear(&air->mistings);
}
