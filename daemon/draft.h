/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * --draft: a configuration from what is found on the ports here, explained
 * and ready to be edited.
 */
#ifndef WARMSIDE_DAEMON_DRAFT_H
#define WARMSIDE_DAEMON_DRAFT_H

#include <stddef.h>

/* Searches the ports (all USB serial ports when count is 0) and writes the draft
 * to path, which must not exist yet, or to standard output when path is NULL.
 * Returns the program's exit status: 0 when a draft was written. */
int draft_command(const char *path, char *const *ports, size_t count);

#endif
