/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A watch that begins without standing.json, because that was damaged or
 * removed, does not know what the alert log says stands.  Whatever still is as
 * it was is raised and told again, by another id; so that nothing stands for
 * ever in the log, the old ones end there.
 */
#ifndef WARMSIDE_DAEMON_FORGOTTEN_H
#define WARMSIDE_DAEMON_FORGOTTEN_H

#include <stddef.h>

#include "conf/alertlog.h"

/* What the log at path leaves standing and shelved at `now`, as the records that end it:
 * cleared and unshelved, told by no message.  malloc'ed, the caller frees;
 * *count of them. */
struct alert_record *forgotten_ends(const char *path, double now, size_t *count);

#endif
