/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers of a standing.json that cannot be ours: a damaged file may be JSON all
 * the same.
 */
#ifndef WARMSIDE_DAEMON_STANDING_NUMBERS_H
#define WARMSIDE_DAEMON_STANDING_NUMBERS_H

#include <jansson.h>

/* Takes out every number, however deep, that is 1e12 or more either way: instants (s
 * since the epoch), lengths of time (s), values and counts are below.  What
 * lacks one then is passed over by whoever reads it, and nothing else is. */
void standing_numbers_mend(json_t *json);

#endif
