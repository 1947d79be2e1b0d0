/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Writes the configuration that fits a simulated room.
 */
#ifndef WARMSIDE_ROOMSIM_WRITECONF_H
#define WARMSIDE_ROOMSIM_WRITECONF_H

#include <stdbool.h>
#include <stdio.h>

#include "contrib/roomsim/world.h"

struct conf_options {
	const char *rack, *board;       /* the links; see rack_link() */
	const char *state;
	const char *webhook;            /* URL, or NULL for none */
	int every;                      /* s for both buses; 0 for their own */
};

/* False when it cannot be written (errno says why). */
bool write_conf(const struct world *world, const struct conf_options *options, FILE *out);

/* The link of the rack of that number: `rack` itself, then "rack-2", ...
 * Malloc'ed; the caller frees. */
char *rack_link(const char *rack, size_t number);

#endif
