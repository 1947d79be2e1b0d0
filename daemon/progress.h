/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How far a search is, on standard error: a line that is written over on a
 * terminal, else one line for each baud.
 */
#ifndef WARMSIDE_DAEMON_PROGRESS_H
#define WARMSIDE_DAEMON_PROGRESS_H

#include "daemon/scan.h"

/* Zero at the beginning. */
struct progress {
	bool shown;             /* a line stands there to be written over */
};

void progress_listening(struct progress *progress, const char *port);
void progress_pass(struct progress *progress, const struct scan_pass *pass);
void progress_show(struct progress *progress, const struct scan *scan);

/* Takes the line away, before something else is printed. */
void progress_clear(struct progress *progress);

#endif
