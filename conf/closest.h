/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * "Did you mean": the known word nearest to one that was mistyped.
 */
#ifndef WARMSIDE_CONF_CLOSEST_H
#define WARMSIDE_CONF_CLOSEST_H

#include <stddef.h>

struct closest {
	const char *word;       /* what was written */
	const char *best;       /* the nearest so far; NULL while none is near enough */
	size_t distance;
};

struct closest closest_begin(const char *word);

/* Takes the candidate when it is nearer than the best so far: fewest letters
 * put in, left out, exchanged, or swapped with their neighbour (optimal
 * string alignment distance), and no more than a third of the word. */
void closest_try(struct closest *closest, const char *candidate);

#endif
