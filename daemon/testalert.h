/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A test message through the whole chain, asked of the daemon that runs, for
 * the keeper who wants to know whether a real one would arrive.
 */
#ifndef WARMSIDE_DAEMON_TESTALERT_H
#define WARMSIDE_DAEMON_TESTALERT_H

#include "conf/model.h"

/* Asks the daemon that holds the state folder for a test message and waits, a
 * minute at most, until the alert log says that each webhook has taken it;
 * prints how long that took.  path: the configuration, for the webhooks' names;
 * their secrets are not read.  Returns the program's exit status: 0 when all
 * have taken it. */
int testalert_run(const struct conf *conf, const char *path);

#endif
