/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * --scan: who is on a bus, as lines to paste into the configuration.
 */
#ifndef WARMSIDE_DAEMON_SCAN_COMMAND_H
#define WARMSIDE_DAEMON_SCAN_COMMAND_H

#include <stdbool.h>

#include "conf/model.h"

/* True when this names a port, so that no configuration is needed. */
bool scan_is_port(const char *what);

/* Scans a port nobody has described.  Returns the program's exit status: 0 when
 * somebody was found. */
int scan_port_command(const char *port);

/* The same of the bus of that name; path is the configuration's, for sentences. */
int scan_bus_command(const struct conf *conf, const char *name, const char *path);

#endif
