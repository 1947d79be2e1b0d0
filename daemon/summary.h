/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What came and went while a webhook could not be reached, as one message in
 * place of many.
 */
#ifndef WARMSIDE_DAEMON_SUMMARY_H
#define WARMSIDE_DAEMON_SUMMARY_H

#include "daemon/waiting.h"

/* A message of the type "alert.summary" that stands for everything marked over
 * for that webhook, and for earlier summaries of it that still wait.  Its data
 * holds the ids of those messages and of their alerts, its text their titles
 * with times.  False when none can be read.  now: s since the epoch. */
bool summary_write(const struct waitings *waitings, size_t webhook, double now,
		   struct outgoing *out);

#endif
