/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The course of the vapour in an enclosure's air while nobody mists: the air
 * exchanges with the room's, and with a store of water (substrate, wood, moss)
 * that gives off what it holds, the slower the drier it is.  Pure.
 *
 *   dw/dt = n (w_room - w) + e (a w_sat - w)
 *   da/dt = (e / C) (w - a w_sat)
 *
 * w is the vapour density of the air, w_sat that of saturated air at the place,
 * a the activity of the store: the relative humidity over it, as a share.  Such
 * a balance of a well-mixed zone and a lumped store of moisture is common in
 * building physics ("effective moisture capacity"; from memory).
 */
#ifndef WARMSIDE_CONF_COURSE_H
#define WARMSIDE_CONF_COURSE_H

/* What an enclosure is like; all > 0. */
struct course_law {
	double airing;          /* n, 1/h: exchange of air with the room */
	double exchange;        /* e, 1/h: between air and store */
	double capacity;        /* C, g of water a m³ of air when a = 1; may be INFINITY */
};

struct course_state {
	double vapour;          /* w, g/m³ */
	double activity;        /* a, 0..1 */
};

/* What it is exposed to meanwhile. */
struct course_around {
	double saturated;       /* w_sat, g/m³, > 0 */
	double room;            /* w_room, g/m³ */
};

/* The state `hours` (> 0) later, what is around it constant meanwhile.  Both equations are
 * solved together and exactly, whatever the step; but a store that reaches 0 or 1 on its way
 * stays there only from the end of the step on. */
struct course_state course_step(const struct course_law *law, struct course_state state,
				const struct course_around *around, double hours);

/* The same in two parts, for several states that go the same way: what hangs on law,
 * saturation and time alone is the dear part of it. */
struct course_way {
	double airing, air, from_store, to_store, store, slow; /* 1/h, from_store g/m³ an hour */
	double grown, slope;    /* h, h² */
};

struct course_way course_way(const struct course_law *law, double saturated, double hours);
struct course_state course_go(const struct course_way *way, struct course_state state, double room);

/* The activity of a store that keeps such air steady: the state's a once the air has
 * come to rest, some hours after a misting.  0..1. */
double course_activity(const struct course_law *law, double vapour,
		       const struct course_around *around);

#endif
