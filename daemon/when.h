/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The two clocks, for whoever waits: the event loop and the courier.
 * Everything else has the time as an argument.
 */
#ifndef WARMSIDE_DAEMON_WHEN_H
#define WARMSIDE_DAEMON_WHEN_H

/* s since some moment before the start; never goes back. */
double when_monotonic(void);

/* s since the epoch, as the system believes. */
double when_wall(void);

#endif
