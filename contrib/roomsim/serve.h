/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The simulated room in real time, behind pseudo-terminals.
 */
#ifndef WARMSIDE_ROOMSIM_SERVE_H
#define WARMSIDE_ROOMSIM_SERVE_H

#include "contrib/roomsim/world.h"

struct serve_options {
	const char *rack, *board;       /* paths of the links to make */
	int every;                      /* s between two printings of the board */
};

/* Answers on the racks as their Modbus slaves do at 9600 bit/s, and prints
 * the board's lines, until SIGTERM or SIGINT; then takes the links away and
 * returns 0.  1 when a port could not be made, after a sentence on standard
 * error. */
int serve(struct world *world, const struct serve_options *options);

#endif
