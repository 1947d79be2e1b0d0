/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Days of air as a law is held against them: where a course begins, and what of it is
 * looked at.  For law.c.  Pure.
 */
#ifndef WARMSIDE_REPORT_LAW_AIR_H
#define WARMSIDE_REPORT_LAW_AIR_H

#include <stdbool.h>
#include <stddef.h>

#include "report/bins.h"
#include "report/mistings.h"

/* What begins at a moment: the store is another than it was, or the air alone. */
enum begins { NOTHING, AIR, STORE };

struct moment {
	double saturated, room; /* g/m³; the last known when not known */
	double humidity, vapour; /* %, g/m³; valid when looked_at */
	bool looked_at;
	bool room_is_old;       /* it has not been known for hours */
	bool misted;            /* the first after a misting */
	enum begins begins;
};

struct law_air {
	struct moment *list;
	size_t count;
	double hours;           /* a step */
	double now;             /* g/m³ at the end */
	bool just_misted;       /* no stretch has begun since the last misting */
	double unit;            /* %: what a law leaves of it counts in this; 1 at first */
};

/* Room and mistings as for law_find.  A stretch ends at a misting, where nothing is known for
 * half a day, and after some days.  False, and nothing to be cleared, when less than a
 * day of it can be looked at. */
bool law_air_make(const struct bins *inside, const struct bins *room,
		  const struct mistings *mistings, struct law_air *out);
void law_air_clear(struct law_air *air);

#endif
