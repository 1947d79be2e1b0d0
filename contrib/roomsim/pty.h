/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A pseudo-terminal that stands for a serial port, reachable by a symbolic
 * link.  We keep only the master's end, so that closing and reopening the
 * other end behaves as with a port.
 */
#ifndef WARMSIDE_ROOMSIM_PTY_H
#define WARMSIDE_ROOMSIM_PTY_H

#include <stdbool.h>

struct pty {
	int fd;                 /* the master's end, non-blocking */
	char *link;             /* owned */
};

/* Opens one in raw mode and puts the link in place of any link already there
 * (never of a file).  False after one sentence on standard error. */
bool pty_open(struct pty *pty, const char *link);

/* Is somebody at the other end?  When nobody is, what we write must be lost,
 * as it is on a wire. */
bool pty_listened(const struct pty *pty);

/* Closes it and takes its link away. */
void pty_close(struct pty *pty);

#endif
