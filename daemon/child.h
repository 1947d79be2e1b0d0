/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Birth of the archivist and the courier: a fork that keeps nothing of the
 * watcher but the memory it was configured with.
 */
#ifndef WARMSIDE_DAEMON_CHILD_H
#define WARMSIDE_DAEMON_CHILD_H

#include <stddef.h>
#include <sys/types.h>

/* Like fork().  In the child every descriptor is closed but standard input,
 * output and error and those in keep[0..count-1], every signal is unblocked
 * and at its default (SIGPIPE and SIGHUP are ignored, SIGINT too: the watcher
 * ends its children by closing their pipes or with SIGTERM), and the child
 * is killed when the watcher dies.  -1 with errno when there is no fork. */
pid_t child_fork(const int *keep, size_t count);

#endif
