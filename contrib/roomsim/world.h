/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The simulated room in motion: weather, room, enclosures, keepers' hands,
 * mishaps, and the probes that look at it.  Two worlds of the same seed and
 * beginning are the same to the last digit.
 *
 * Lamps, mistings and the furnace follow local time (TZ), like the bands of
 * the programs that watch.
 */
#ifndef WARMSIDE_ROOMSIM_WORLD_H
#define WARMSIDE_ROOMSIM_WORLD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "contrib/roomsim/events.h"
#include "contrib/roomsim/furnish.h"
#include "contrib/roomsim/life.h"

enum { PROBE_NAME = 32, FIRST_ADDRESS = 11, ADDRESSES = 200 };

/* One enclosure, a design or a copy of one. */
struct home {
	char name[PROBE_NAME], label[64];
	const struct design *design;
	struct shell shell;             /* the design's; copies differ a little */
	struct inside inside;
	double mist_at[MAX_MISTINGS];   /* s after midnight, today */
	struct chores chores;           /* today's */
	bool open, cleaned;             /* now, by the keeper's hand */
};

struct probe_sim {
	char name[PROBE_NAME];
	size_t home;                    /* index into homes; NO_HOME for the room's */
	enum place place;
	bool has_humidity;
	bool on_board;                  /* printed by the board, else on a rack */
	size_t rack;                    /* which rack, from 0 */
	int address;                    /* there */
	double wet_until;               /* s since the epoch: it was sprayed; 0: never */
	struct wetting wetting;         /* that time */
	bool seen;                      /* last is valid */
	int last[QUANTITIES];           /* tenths of °C and % */
};

#define NO_HOME ((size_t)-1)

/* A misting that took place. */
struct misted {
	size_t home;                    /* index into homes */
	double time;                    /* s since the epoch */
	double film;                    /* g/m³: what of it evaporates at once; see inside_mist() */
	double from, to;                /* % at the cool side: before it; most in 45 min after it */
	unsigned wet;                   /* bit 1 << place of each probe that got wet */
};

struct world {
	uint64_t seed;
	bool lively;                    /* the keeper's hands, coarse probes, lost readings */
	double time;                    /* of the state, s since the epoch */
	double clock;                   /* s after local midnight, then */
	long day;                       /* number of the local day */
	bool lit;                       /* 08:00 to 20:00 */
	struct room room;
	struct home *homes;
	size_t home_count;
	struct probe_sim *probes;       /* the room's is the last */
	size_t probe_count;
	size_t racks;
	struct events events;           /* owned */
	struct events today;            /* owned: those of them that can be on today */
	struct misted *misted;          /* owned; by time */
	size_t misted_count;
};

/* A furnished room of that many enclosures (at least 1), not yet in motion. */
struct world *world_new(uint64_t seed, size_t enclosures);
void world_free(struct world *world);

/* Lets it run for the two days before `start`, so that it has settled by
 * then.  Takes the events over.  A lively one has the happenings of life.h,
 * and probes that scatter by 0.2 °C and 1.5 %; else they are quiet ones. */
void world_begin(struct world *world, double start, bool lively, struct events events);

/* Goes on to the last full step at or before `now`; backwards is no move. */
void world_advance(struct world *world, double now);

enum answer { ANSWERS, KEEPS_SILENT, ANSWERS_DAMAGED };

/* What a probe says at `now` (the world is advanced to it), in tenths of °C
 * and of %, as its digits would be. */
enum answer world_read(struct world *world, struct probe_sim *probe, double now,
		       int tenths[QUANTITIES]);

/* The name of the enclosure a probe sits in; "room" for the room's. */
const char *probe_home(const struct world *world, const struct probe_sim *probe);

#endif
