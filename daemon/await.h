/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Waiting, for tasks that a keeper at a terminal looks on at and may end by
 * Ctrl-C: --scan and --draft.  The watch itself waits nowhere but in its loop.
 */
#ifndef WARMSIDE_DAEMON_AWAIT_H
#define WARMSIDE_DAEMON_AWAIT_H

/* From now on SIGINT and SIGTERM no longer end the program but make the
 * descriptor that is returned readable; -1 when that cannot be. */
int await_signals(void);

enum awaited { AWAITED_INPUT, AWAITED_TIME, AWAITED_STOP };

/* Waits until fd can be read (or is hung up), the time (mono, s) has come, or
 * one of those signals has: then it returns AWAITED_STOP at once, ever after. */
enum awaited await_input(int fd, int signals, double mono);

#endif
