/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How long whoever failed is left alone before the next try.
 */
#ifndef WARMSIDE_DAEMON_REST_H
#define WARMSIDE_DAEMON_REST_H

/* In s, after so many failed tries: 2 s, doubled each time, a fifth more or
 * less as chance (0..1) has it, at most 5 min.  Dense at first: an animal may
 * be waiting. */
double rest_after(unsigned tries, double chance);

/* The same, with a chance of the system's. */
double rest_next(unsigned tries);

#endif
