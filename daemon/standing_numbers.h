/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether the numbers of a standing.json can be ours: a damaged file may be JSON
 * all the same.
 */
#ifndef WARMSIDE_DAEMON_STANDING_NUMBERS_H
#define WARMSIDE_DAEMON_STANDING_NUMBERS_H

#include <jansson.h>
#include <stdbool.h>

/* True when every number in it, however deep, is below 1e12 either way: instants (s
 * since the epoch), lengths of time (s), values and counts are. */
bool standing_numbers_possible(const json_t *json);

#endif
