/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A small configuration made by hand, for tests that need one without
 * reading a file: one lines bus, one probe "a", enclosure "T3" ("Third tub",
 * example snake) with the probe at its cool side, and the room with "r".
 */
#ifndef WARMSIDE_TESTS_WORLD_H
#define WARMSIDE_TESTS_WORLD_H

#include "conf/model.h"

struct world {
	struct conf conf;
	struct bus bus;
	struct probe probes[2];
	struct species species;
	struct enclosure enclosures[2];
	struct webhook webhook;
};

/* Fills a world in place (it points into itself). */
void world_make(struct world *world);

#endif
