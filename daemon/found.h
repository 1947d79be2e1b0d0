/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was found on a port, as lines of the configuration with what was read
 * behind them: for --scan and --draft alike.
 */
#ifndef WARMSIDE_DAEMON_FOUND_H
#define WARMSIDE_DAEMON_FOUND_H

#include <stdio.h>

#include "conf/model.h"
#include "daemon/listen.h"
#include "daemon/scan.h"

/* bus "rack" { port = "..."  speaks = "modbus"  baud = 9600  parity = "none" } */
void found_print_rack(FILE *out, const char *bus, const char *port,
		      const struct scan_found *found);

/* probe "NAME" { bus = "rack"  address = 13  ... }, and in comments behind and
 * below it what it reads, and how else it may be understood.  Who gave
 * nothing to go by is a comment only. */
void found_print_probe(FILE *out, const char *name, const char *bus,
		       const struct scan_found *found, enum units units);

/* "23.1 °C, 45.2 %"; one of the two when the other is missing.  buf is returned. */
enum { FOUND_TEXT = 100 };
char *found_values(const bool has[QUANTITIES], const double value[QUANTITIES], enum units units,
		   char buf[FOUND_TEXT]);

/* The same of what fits best; "" when nothing does. */
char *found_reading(const struct scan_found *found, enum units units, char buf[FOUND_TEXT]);

/* bus "board" { port = "..."  speaks = "lines"  ... }; `every` is what was heard,
 * rounded up, or left out when nobody was heard twice. */
void found_print_board(FILE *out, const char *bus, const char *port, const struct heard *heard);

/* The names of the probes heard: the bus's and what the board prints, as the
 * configuration allows it, each once.  Probes whose address it cannot hold are left
 * out.  Returns how many. */
enum { FOUND_NAME = 41 };       /* bytes, the terminator included */
size_t found_names(const char *bus, const struct heard *heard,
		   char names[HEARD_PROBES][FOUND_NAME]);

/* A line for each of them. */
void found_print_board_probes(FILE *out, const char *bus, const struct heard *heard,
			      enum units units);

/* "none", "even", "odd" */
const char *found_parity(enum parity parity);

#endif
