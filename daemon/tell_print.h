/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a replay would send, for somebody who reads along.
 */
#ifndef WARMSIDE_DAEMON_TELL_PRINT_H
#define WARMSIDE_DAEMON_TELL_PRINT_H

#include "daemon/gathering.h"

/* Prints one line on standard output: when it would go, its title as somebody
 * who is told everything reads it, and the webhooks that would be told.  flood
 * is as for gathering_title, now in s since the epoch. */
void tell_print(const struct gathering *gathering, const struct conf *conf, size_t flood,
		double now);

#endif
