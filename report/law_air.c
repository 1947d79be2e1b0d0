/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Steps of air -> moments of a course; see law_air.h.
 */
#include "report/law_air.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "report/spread.h"

enum { LATEST = 3 };                            /* steps that are "now" */

static const double FILM = 150 * 60;             /* s: water on leaves evaporates; invented */
static const double EARLY = 600;                /* s: a misting may begin before it is seen */
static const double LONGEST = 3 * 86400;        /* s of a stretch */
static const double GAP = 12 * 3600;            /* s of which nothing is known */
static const double WET = 99;                   /* %: the probe itself may be wet */
static const double FALL = 0.05, FALLS = 5;     /* of the vapour; times the usual change */
static const double DOOR = 25 * 60;             /* s from a fall's step on: it may be open; invented */
static const double SMOOTHED = 0.34;               /* h on either side: the room */
static const double OLD = 3 * 3600;             /* s since the room was known; invented */
static const double LEAST_HOURS = 24;

/* Carries what is known over what is not; the beginning has the first that is known. */
static void surround(const struct bins *inside, const struct bins *room, struct law_air *air)
{
	double saturated = 0, outside = 0, heard = -INFINITY;

	for (int again = 0; again < 2; again++)
		for (size_t i = 0; i < inside->count; i++) {
			const struct bin *bin = &inside->list[i];
			const struct bin *there = bin_at(room, bin_time(inside, i));

			if (bin->ok > 0)
				saturated = air_vapour_density(bin->celsius, 100);
			if (there && there->ok > 0) {
				outside = there->vapour;
				heard = bin_time(inside, i);
			}
			air->list[i].saturated = saturated;
			air->list[i].room = outside;
			air->list[i].room_is_old = !(fabs(bin_time(inside, i) - heard) <= OLD);
			if (!again && saturated > 0 && isfinite(heard))
				break;
		}
}

/* Noise in what drives a course makes it seem to follow less than it does: of the room, which is
 * large and slow, a mean is taken. */
static void smooth_room(struct law_air *air)
{
	size_t reach = (size_t)(SMOOTHED / air->hours);
	double *sums = must_calloc(air->count + 1, sizeof *sums);

	for (size_t i = 0; i < air->count; i++)
		sums[i + 1] = sums[i] + air->list[i].room;
	for (size_t i = 0; i < air->count; i++) {
		size_t from = i > reach ? i - reach : 0;
		size_t to = i + reach < air->count ? i + reach + 1 : air->count;

		air->list[i].room = (sums[to] - sums[from]) / (double)(to - from);
	}
	free(sums);
}

/* The share by which vapour falls from a step to the next before it counts as a door. */
static double sudden_fall(const struct bins *inside)
{
	double *changes = must_calloc(inside->count + 1, sizeof *changes), usual;
	size_t count = 0;

	for (size_t i = 1; i < inside->count; i++)
		if (inside->list[i].ok > 0 && inside->list[i - 1].ok > 0 &&
		    inside->list[i - 1].vapour > 0)
			changes[count++] = fabs(inside->list[i].vapour /
						inside->list[i - 1].vapour - 1);
	usual = count > 0 ? spread_of(changes, count).median : 0;
	free(changes);
	return fmax(FALL, FALLS * usual);
}

/* Which moments are looked at, and where something begins. */
static void mark(const struct bins *inside, const struct mistings *mistings, struct law_air *air)
{
	double fall = sudden_fall(inside), last = -INFINITY, begun = -INFINITY,
	       shut = -INFINITY;
	enum begins due = STORE;
	bool misted = false;
	size_t next = 0;

	for (size_t i = 0; i < inside->count; i++) {
		const struct bin *bin = &inside->list[i], *before = i ? bin - 1 : bin;
		struct moment *moment = &air->list[i];
		double at = bin_time(inside, i);

		for (; next < mistings->count && mistings->list[next].at - EARLY <= at; next++) {
			due = STORE;
			misted = true;
			last = mistings->list[next].at + FILM;
		}
		if (bin->ok <= 0 || at < last || bin->humidity >= WET || moment->room_is_old)
			continue;
		if (at - fmax(begun, last) > LONGEST)
			due = STORE;
		if (before->ok > 0 && bin->vapour < before->vapour * (1 - fall)) {
			due = due == STORE ? STORE : AIR;
			shut = at + DOOR;
		} else if (before->ok > 0 && bin->vapour > before->vapour * (1 + fall / 2)) {
			shut = at; /* it rises again */
		}
		moment->vapour = bin->vapour;
		if (at < shut && due != STORE) { /* the course goes along with what is measured */
			moment->begins = AIR;
			continue;
		}
		moment->humidity = bin->humidity;
		moment->looked_at = true;
		moment->begins = due;
		moment->misted = misted && due == STORE;
		if (due == STORE) {
			begun = at;
			misted = false;
		}
		due = NOTHING;
	}
	air->just_misted = misted;
}

/* A long time of which nothing is known ends a stretch too. */
static void mark_gaps(const struct bins *inside, struct law_air *air)
{
	size_t last = 0;

	for (size_t i = 0; i < air->count; i++)
		if (air->list[i].looked_at) {
			if ((double)(i - last) * inside->step > GAP)
				air->list[i].begins = STORE;
			last = i;
		}
}

/* w at the end is what was measured last: where the law is wrong, the air is right. */
static double vapour_now(const struct bins *inside)
{
	double vapour = 0;
	int count = 0;

	for (size_t i = inside->count; i-- > 0 && count < LATEST;)
		if (inside->list[i].ok > 0) {
			vapour += inside->list[i].vapour;
			count++;
		}
	return count > 0 ? vapour / count : 0;
}

bool law_air_make(const struct bins *inside, const struct bins *room,
		  const struct mistings *mistings, struct law_air *out)
{
	*out = (struct law_air){ must_calloc(inside->count + 1, sizeof *out->list), inside->count,
				 inside->step / 3600, vapour_now(inside), false, 1 };
	size_t looked_at = 0;

	surround(inside, room, out);
	smooth_room(out);
	mark(inside, mistings, out);
	mark_gaps(inside, out);
	for (size_t i = 0; i < out->count; i++)
		looked_at += out->list[i].looked_at;
	if ((double)looked_at * out->hours >= LEAST_HOURS)
		return true;
	law_air_clear(out);
	return false;
}

void law_air_clear(struct law_air *air)
{
	free(air->list);
	*air = (struct law_air){ 0 };
}
