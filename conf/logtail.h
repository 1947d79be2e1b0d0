/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is added to the alert log from now on, for whoever has asked the watch
 * for something and looks whether it was done.  Never waits.
 */
#ifndef WARMSIDE_CONF_LOGTAIL_H
#define WARMSIDE_CONF_LOGTAIL_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/alertlog.h"

struct logtail {
	char *path;
	int fd;                 /* -1 while there is no log */
	char *kept;             /* read, and not yet taken: from `at` to `length` */
	size_t at, length;
};

/* Begins at the log's present end; a log that is not there yet begins with its
 * first line.  False with errno when it cannot be read. */
bool logtail_begin(struct logtail *tail, const char *path);

/* The next record; false when there is none yet.  A line counts once it is
 * whole; one that is no record is passed over. */
bool logtail_next(struct logtail *tail, struct alert_record *out);

void logtail_end(struct logtail *tail);

#endif
