/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alert log on disk: append-only, one record a line, synced.
 */
#ifndef WARMSIDE_DAEMON_ALERTFILE_H
#define WARMSIDE_DAEMON_ALERTFILE_H

#include <stdbool.h>

#include "conf/alertlog.h"

/* Opens (and makes) the file.  A last line torn by a power cut is closed with
 * a newline, so that nothing is lost and the next record stands alone.
 * Returns a descriptor, or -1 with errno. */
int alertfile_open(const char *path);

/* Opens (and makes) the file at path in the place of fd, which is closed and
 * may be -1.  When fd's file was removed, and nothing is at path, what it held
 * is put there first.  Returns fd when it cannot be opened. */
int alertfile_again(int fd, const char *path);

/* Appends records, all in one write, and syncs them.  On failure the file is
 * put back to what it was and errno says why. */
bool alertfile_append(int fd, const struct alert_record *records, size_t count);

/* Whether that very record stands near the end of the file. */
bool alertfile_holds(int fd, const struct alert_record *record);

#endif
