/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A recording through the very chain a live reading takes; the recording is
 * both clocks.
 */
#ifndef WARMSIDE_DAEMON_REPLAY_H
#define WARMSIDE_DAEMON_REPLAY_H

#include <stdbool.h>

#include "conf/model.h"

/* Replays the file into conf's state folder and waits until all is archived.
 * With post, messages go out as they would live; without, what would be sent
 * and when is printed.  SIGINT or SIGTERM ends it in order after the row in hand.
 * Returns the program's exit status: 0 when the file was read to its end. */
int replay_run(const struct conf *conf, const char *path, bool post);

#endif
