/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands in the simulated room: twelve enclosures, their probes, and
 * the bands their animals are kept in.  Tables only.
 */
#ifndef WARMSIDE_ROOMSIM_FURNISH_H
#define WARMSIDE_ROOMSIM_FURNISH_H

#include <stdbool.h>

#include "conf/model.h"
#include "contrib/roomsim/model.h"

enum { DESIGNS = 12, MAX_MISTINGS = 4, MAX_BANDS = 6, SPECIES = 10 };

/* One misting of every day. */
struct misting {
	double clock;           /* h after local midnight */
	double film, soak;      /* g/m³; see inside_mist() */
};

struct design {
	const char *name, *label;
	enum build build;
	int species;            /* index into species_list */
	unsigned probes;        /* bit 1 << place for each place with a probe */
	unsigned on_board;      /* those of them the board prints; the others are on the rack */
	struct misting mistings[MAX_MISTINGS];
	struct shell shell;
};

/* A band as the configuration writes it; limits NULL: none. */
struct wanted {
	enum place place;
	enum quantity quantity;
	const char *day, *night, *limits, *patience;    /* day NULL ends the list */
	const char *daily, *limits_patience;            /* NULL: none */
};

struct kind {
	const char *name, *latin;
	struct wanted bands[MAX_BANDS + 1];
};

extern const struct design designs[DESIGNS];
extern const struct kind species_list[SPECIES];

/* What a misplaced probe adds to the truth, for the one design that has it:
 * the configuration corrects it. */
enum { OFFSET_DESIGN = 4 };
#define OFFSET_CELSIUS 0.8
#define OFFSET_HUMIDITY 3.0

/* A bare hot spot has a thermometer only. */
bool probe_has_humidity(enum place place);

#endif
