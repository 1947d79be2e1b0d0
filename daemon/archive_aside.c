/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Damaged archives, put aside; see archive.h.
 */
#include "daemon/archive.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"

char *archive_set_aside(const char *path, time_t now, char why[ARCHIVE_TEXT])
{
	char stamp[32], *aside = NULL;
	struct tm utc;

	gmtime_r(&now, &utc);
	strftime(stamp, sizeof stamp, "%Y%m%dT%H%M%SZ", &utc);
	for (int i = 1; !aside; i++) {
		aside = i == 1 ? must_print("%s.damaged-%s", path, stamp)
			       : must_print("%s.damaged-%s-%d", path, stamp, i);
		if (access(aside, F_OK) == 0) {
			free(aside);
			aside = NULL;
		}
	}
	if (rename(path, aside) < 0) {
		snprintf(why, ARCHIVE_TEXT, "cannot set it aside: %s", strerror(errno));
		free(aside);
		return NULL;
	}
	return aside;
}
