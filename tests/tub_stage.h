/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An invented tub (tests/tub.h) at the cool side of a watched enclosure E1, for
 * tests of what is told of a misting that is due.
 */
#ifndef WARMSIDE_TESTS_TUB_STAGE_H
#define WARMSIDE_TESTS_TUB_STAGE_H

#include "tests/stage.h"
#include "tests/tub.h"

struct tub {
	struct stage stage;
	struct scene *scene;
	struct course_state state; /* of E1 */
	double wrong;           /* %: what its probe reads too much */
	double low;             /* %: the lowest so far */
	long dry;               /* min since the begin: when it came below 45 %; -1: not yet */
};

/* So moist that it is below its band after some 14 h; one webhook, "phone". */
void tub_begin(struct tub *t, const char *more, const char *inside);

/* What it is like was found up to then. */
void tub_law(struct tub *t, double to);

void tub_run(struct tub *t, int minutes);

/* Some of it stays in the air for a while, the rest goes into the substrate. */
void tub_mist(struct tub *t);

/* How often that was logged of a misting that is due. */
size_t tub_told(const struct tub *t, const char *event);

/* Minute by minute until it was told; minutes since the begin. */
long tub_until_told(struct tub *t, size_t times, int most);

#endif
