/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The past -> what the humidity will do unmisted; see forecast.h.
 *
 * Many courses are reckoned by the law of the enclosure (report/law.h).  Each takes another
 * day of the past: the temperature at the place is to be what it was from then on, over and
 * over until the horizon; the room's vapour begins at what it is now and passes over into what it
 * was then.  And each takes another of the laws and states that the air allows.  What they come
 * to is spread out: low and high enclose 80 % of the courses.
 */
#include "report/forecast.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "report/law.h"

/* Steps: of a day; of which a mean is made; in which an episode that is under way began. */
enum { A_DAY = 86400 / FORECAST_STEP, SMOOTHED = 3, BEFORE = 3 * A_DAY };
enum { ROUNDS = 5 };                            /* courses a day of the past */

/* Where nobody measures the room's vapour it may be any of these shares of the least that the
 * enclosure has held: more it can hardly be, for what is moist inside adds to it.  Invented. */
static const double ROOMS[] = { 0, 0.4, 0.8 };
enum { ROOM_GUESSES = sizeof ROOMS / sizeof *ROOMS,
       MOST = ROUNDS * FORECAST_DAYS * ROOM_GUESSES }; /* courses in all */

/* And what the law then says of the store may be so many times too much: a room that moves is taken
 * for what is moist inside, or the other way round.  Invented, a round each. */
static const double STORES[ROUNDS] = { 0.65, 0.8, 1, 1.25, 1.5 };

static const double FORGETS = 36;               /* h: in which the room's air of now is past; invented */
static const double STALE = 6;                  /* h: what is known must not be older */
static const double ROOM_DAYS = 1.9;            /* of its air, at least; invented */
static const double BLIND = 3600;               /* s not known in which a misting may be missed */

/* What is around the place at a step of the past, without gaps. */
struct weather {
	struct course_around *list;
	size_t count;
};

/* Over gaps: what was a day before, else the last. */
static bool weather_make(const struct forecast_past *past, struct weather *out)
{
	const struct bins *inside = past->inside;
	bool known = false, room_known = false;
	size_t first = inside->count;

	*out = (struct weather){ must_calloc(inside->count + 1, sizeof *out->list),
				 inside->count };
	for (size_t i = 0; i < inside->count; i++) {
		const struct bin *bin = &inside->list[i];
		const struct bin *room = bin_at(past->room, bin_time(inside, i));
		struct course_around *around = &out->list[i];

		if (i > 0)
			*around = out->list[i >= first + A_DAY ? i - A_DAY : i - 1];
		if (bin->ok > 0)
			around->saturated = air_vapour_density(bin->celsius, 100);
		if (room && room->ok > 0)
			around->room = room->vapour;
		known |= bin->ok > 0;
		room_known |= room && room->ok > 0;
		if (known && room_known && first == inside->count)
			first = i;
	}
	out->count -= first;
	for (size_t i = 0; i < out->count; i++)
		out->list[i] = out->list[i + first];
	return out->count >= A_DAY;
}

/* The room's vapour now: of the last steps. */
static double room_now(const struct weather *weather)
{
	double sum = 0;

	for (size_t i = 0; i < SMOOTHED; i++)
		sum += weather->list[weather->count - 1 - i].room;
	return sum / SMOOTHED;
}

/* What has been seen of a humidity below its band. */
struct watch {
	struct in_force force;
	const struct band_record *record; /* that holds then: its limits ... */
	double since;           /* ... since then */
	double recent[SMOOTHED]; /* %: the last steps */
	bool below;             /* their mean is */
	bool episode;           /* one is under way ... */
	double outside;         /* ... h below in it so far */
	double inside;          /* ... h inside by the deadband since */
};

/* One course. */
struct course_of {
	const struct forecast_past *past;
	const struct weather *weather;
	size_t back;            /* steps: the day it takes begins so long ago */
	struct law_draw draw;
	bool guessed;           /* the room's air is */
	double room;            /* g/m³, now */
	struct watch watch;     /* now */
	size_t steps;
};

struct outcome {
	double leaves, passes, told, longest; /* h */
};

/* `hours` from now on, `span` of which have passed since it was last judged. */
static void judge(const struct forecast_past *past, struct watch *watch, double hours, double span,
		  struct outcome *out)
{
	const double instant = past->now + hours * 3600;
	const struct in_force *force = ribbon_next(past->ribbon, instant, &watch->force);
	double mean = 0;

	/* Its limits may have moved with it. */
	if (force->from != watch->since) {
		watch->record = ribbon_record(past->ribbon, instant);
		watch->since = force->from;
	}
	for (size_t i = 0; i < SMOOTHED; i++)
		mean += watch->recent[i] / SMOOTHED;
	if (watch->record->has_limits && mean < watch->record->limits.low)
		out->passes = fmin(out->passes, hours);
	watch->below = force->has_band && mean < force->band.low;
	if (!force->has_band || mean >= force->band.low + past->rule->deadband) {
		watch->inside += span;
		watch->episode = watch->episode && watch->inside < past->rule->off_delay / 3600;
		return;
	}
	watch->inside = 0;
	if (!watch->below)
		return;
	watch->outside = watch->episode ? watch->outside + span : span;
	watch->episode = true;
	out->leaves = fmin(out->leaves, hours);
	out->longest = fmax(out->longest, watch->outside);
	if (watch->outside >= past->rule->patience / 3600)
		out->told = fmin(out->told, hours);
}

static void push(struct watch *watch, double humidity)
{
	for (size_t i = SMOOTHED - 1; i > 0; i--)
		watch->recent[i] = watch->recent[i - 1];
	watch->recent[0] = humidity;
}

/* What the last days have shown; false when nothing is known of the last hours. */
static bool watch_begin(const struct forecast_past *past, struct watch *out)
{
	const struct bins *inside = past->inside;
	size_t lately = (size_t)(STALE * 3600 / inside->step), last = 0, count = 0;
	size_t first = inside->count > BEFORE ? inside->count - BEFORE : 0;

	*out = (struct watch){ .record = ribbon_record(past->ribbon, past->now) };
	for (size_t i = first; i < inside->count; i++) {
		struct outcome seen = { 0 };

		if (inside->list[i].ok <= 0)
			continue;
		push(out, inside->list[i].humidity);
		last = i;
		if (++count >= SMOOTHED)
			judge(past, out, (bin_time(inside, i) - past->now) / 3600,
			      inside->step / 3600, &seen);
	}
	return count >= SMOOTHED && last + lately >= inside->count;
}

static struct outcome run(const struct course_of *course)
{
	const struct weather *weather = course->weather;
	const double hours = (double)FORECAST_STEP / 3600;
	size_t from = weather->count - course->back;
	double ahead = course->room - weather->list[from].room;
	struct outcome out = { INFINITY, INFINITY, INFINITY, 0 };
	struct course_state state = course->draw.now;
	struct watch watch = course->watch;

	judge(course->past, &watch, 0, 0, &out);
	for (size_t i = 0; i < course->steps; i++) {
		const struct course_around *then = &weather->list[from + i % course->back];
		double at = (double)(i + 1) * hours;
		struct course_around around = { then->saturated, then->room };
		double before = state.vapour;

		around.room = fmax(around.room + ahead * exp(-at / FORGETS), 0);
		state = course_step(&course->draw.law, state, &around, hours);
		push(&watch, fmin(50 * (before + state.vapour) / around.saturated, 100));
		judge(course->past, &watch, at, hours, &out);
	}
	return out;
}

/* What the courses came to, each list in their order. */
struct outcomes {
	double leaves[MOST], passes[MOST], told[MOST], longest[MOST];
	size_t count;
	struct watch watch;     /* now */
};

/* Each day of the past with ROUNDS of the draws. */
static void run_all(struct course_of *course, const struct law_fit *fit, struct outcomes *out)
{
	size_t days = course->weather->count / A_DAY;

	days = days < FORECAST_DAYS ? days : FORECAST_DAYS;
	for (size_t round = 0; round < ROUNDS; round++)
		for (size_t day = 0; day < days; day++) {
			struct outcome outcome;

			course->back = (day + 1) * A_DAY;
			course->draw = fit->draws[(day + ROUNDS * round) % LAW_DRAWS];
			if (course->guessed)
				course->draw.law.capacity *= STORES[round];
			outcome = run(course);
			out->leaves[out->count] = outcome.leaves;
			out->passes[out->count] = outcome.passes;
			out->told[out->count] = outcome.told;
			out->longest[out->count++] = outcome.longest;
		}
}

/* With the room's air as past->room has it. */
static void foretell(const struct forecast_past *past, bool guessed, double horizon,
		     struct outcomes *out)
{
	struct weather weather;
	struct law_fit fit;
	struct course_of course = { .past = past, .weather = &weather, .guessed = guessed,
				    .steps = (size_t)lrint(horizon * 3600 / FORECAST_STEP) };

	if (weather_make(past, &weather) && watch_begin(past, &course.watch) &&
	    law_find(past->inside, past->room, past->mistings, &fit)) {
		course.room = room_now(&weather);
		out->watch = course.watch;
		run_all(&course, &fit, out);
	}
	free(weather.list);
}

/* g/m³: the least an enclosure has held, short times aside; 0 when nothing is known. */
static double least_vapour(const struct bins *inside)
{
	double *values = must_calloc(inside->count + 1, sizeof *values), least;
	size_t count = 0;

	for (size_t i = 0; i < inside->count; i++)
		if (inside->list[i].ok > 0)
			values[count++] = inside->list[i].vapour;
	least = spread_of(values, count).low;
	free(values);
	return least;
}

/* With a room whose air is always the same. */
static void foretell_with(const struct forecast_past *past, double vapour, double horizon,
			  struct outcomes *out)
{
	const struct bins *inside = past->inside;
	struct bins room = { inside->from, inside->step,
			     must_calloc(inside->count + 1, sizeof *room.list), inside->count };
	struct forecast_past with = *past;

	for (size_t i = 0; i < room.count; i++)
		room.list[i] = (struct bin){ .ok = room.step, .vapour = vapour };
	with.room = &room;
	foretell(&with, true, horizon, out);
	bins_clear(&room);
}

/* The room is heard now, and has been for some days, the last ones among them. */
static bool is_heard(const struct bins *room, double now)
{
	double known = 0, recent = 0, last = -INFINITY;

	for (size_t i = 0; room && i < room->count; i++) {
		if (room->list[i].ok <= 0)
			continue;
		last = bin_time(room, i);
		known += room->step / 86400;
		recent += last > now - 2 * 86400 ? room->step / 86400 : 0;
	}
	return known >= ROOM_DAYS && recent >= 1 && now - last <= STALE * 3600;
}

/* Its last FORECAST_DAYS; the list is the other's. */
static struct bins lately(const struct bins *bins)
{
	size_t most = (size_t)FORECAST_DAYS * A_DAY, older = bins->count > most ? bins->count - most : 0;

	return (struct bins){ bins->from + bins->step * (double)older, bins->step,
			      bins->list + older, bins->count - older };
}

/* h without a misting or a gap in which there may have been one, at most.  In rows of an hour none
 * can be seen: most of their steps are not known. */
static double longest_followed(const struct bins *inside, const struct mistings *mistings)
{
	double longest = 0, begin = INFINITY, last = -INFINITY;
	size_t next = 0;

	for (size_t i = 0; i < inside->count; i++) {
		double at = bin_time(inside, i);
		bool misted = false;

		for (; next < mistings->count && mistings->list[next].at <= at; next++)
			misted = true;
		if (inside->list[i].ok <= 0)
			continue;
		if (misted || at - last > fmin(BLIND, 3 * inside->step))
			begin = at;
		last = at;
		longest = fmax(longest, at - begin);
	}
	return longest / 3600;
}

void forecast_make(const struct forecast_past *past, double horizon, struct forecast *out)
{
	struct outcomes outcomes = { .count = 0 };
	struct bins inside = lately(past->inside);
	struct forecast_past of = *past;

	of.inside = &inside;
	*out = (struct forecast){ .room_known = is_heard(past->room, past->now) };
	if (out->room_known)
		foretell(&of, false, horizon, &outcomes);
	out->room_known = outcomes.count > 0; /* the room may be known where the enclosure is not */
	for (size_t i = 0; !out->room_known && i < ROOM_GUESSES; i++)
		foretell_with(&of, ROOMS[i] * least_vapour(&inside), horizon, &outcomes);
	out->known = outcomes.count > 0;
	out->followed = longest_followed(&inside, past->mistings);
	out->leaves = spread_of(outcomes.leaves, outcomes.count);
	out->passes = spread_of(outcomes.passes, outcomes.count);
	out->told = spread_of(outcomes.told, outcomes.count);
	out->longest = spread_of(outcomes.longest, outcomes.count);
	out->below_now = outcomes.watch.below;
	out->below_for = outcomes.watch.episode ? outcomes.watch.outside : 0;
}
