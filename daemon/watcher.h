/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The live watch: real ports, real time, signals.
 */
#ifndef WARMSIDE_DAEMON_WATCHER_H
#define WARMSIDE_DAEMON_WATCHER_H

#include "conf/model.h"

/* Runs until SIGTERM or SIGINT; SIGHUP reads the file at path again.  Takes
 * conf over.  Returns the program's exit status. */
int watcher_run(struct conf *conf, const char *path);

#endif
