/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What `warmside drying` has found of the enclosures, from dryings.jsonl
 * into the flow.  A file that is missing, torn or foreign says nothing; that is logged.
 */
#ifndef WARMSIDE_DAEMON_LAWS_H
#define WARMSIDE_DAEMON_LAWS_H

#include <sys/stat.h>

#include "daemon/flow.h"
#include "daemon/log.h"

/* Zero-initialised: to be read. */
struct laws {
	bool known;             /* the file was read, ... */
	double looked;          /* ... or found unchanged, at, by the flow's time */
	struct stat about;      /* as it was; all zero when there was none */
	struct log_state failing; /* it is there, and cannot be read */
};

/* Once an hour: reads the file's end when it has changed.  Nothing is read where no
 * enclosure has a misting_due. */
void laws_tick(struct laws *laws, struct flow *flow);

#endif
