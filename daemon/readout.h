/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One reading from each probe, raw and corrected, for the keeper who is
 * wiring up.
 */
#ifndef WARMSIDE_DAEMON_READOUT_H
#define WARMSIDE_DAEMON_READOUT_H

#include "conf/model.h"

/* Asks every probe once and prints what it said, or why it said nothing.
 * While a daemon holds the state folder the ports are its, and its latest
 * readings are printed instead.  Returns the program's exit status: 0 when
 * every probe has a reading. */
int readout_probes(const struct conf *conf);

#endif
