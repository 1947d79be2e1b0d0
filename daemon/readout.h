/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What each probe says now, raw and corrected, for the keeper who is wiring
 * up: once, or again and again until he has found out which probe is which.
 */
#ifndef WARMSIDE_DAEMON_READOUT_H
#define WARMSIDE_DAEMON_READOUT_H

#include "conf/model.h"

/* Asks every probe and prints what it said, or why it said nothing.  While a
 * daemon holds the state folder the ports are its, and its latest readings are
 * shown instead.  Returns the program's exit status: 0 when every probe has a
 * reading. */
int readout_probes(const struct conf *conf);

/* The same, renewed until SIGINT, SIGTERM, SIGHUP or SIGQUIT: in place on a terminal,
 * else a line for each change.  0 unless it cannot begin. */
int readout_watch(const struct conf *conf);

#endif
