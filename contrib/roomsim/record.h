/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Writes a recording: what the probes of a simulated room say over days.
 */
#ifndef WARMSIDE_ROOMSIM_RECORD_H
#define WARMSIDE_ROOMSIM_RECORD_H

#include <stdbool.h>
#include <stdio.h>

#include "contrib/roomsim/world.h"

/* CSV with a header, in time order, one row a reading: from `start` to before
 * `end` (s since the epoch), each probe once in `every` whole seconds, one
 * after the other.  A silent probe has no row, a missing quantity an empty
 * field.  False when the file cannot be written (errno says why). */
bool record(struct world *world, double start, double end, int every, FILE *out);

/* {"faults": see events_write, "mistings": [{"enclosure", "time", "film", "from",
 * "to", "wet": [place, ...]}]}: all faults, and the mistings that took place from
 * `start` to now (see struct misted).  False when it cannot be written (errno says why). */
bool list_happenings(const struct world *world, double start, FILE *out);

#endif
