/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The newest minutes, which the daemon has gathered and not put into the
 * archives yet (conf/gathered.h), behind the rows of an archive.
 */
#ifndef WARMSIDE_REPORT_GATHERED_ROWS_H
#define WARMSIDE_REPORT_GATHERED_ROWS_H

#include "report/rows.h"

struct gathered_file {
	bool taken;             /* it was read, or tried */
	unsigned char *bytes;   /* NULL when there are none */
	size_t size;
};

/* What is gathered at this moment.  To be read before the archive is: what is
 * archived in between is in both, and taken once.  The caller clears it.  When
 * it is there and cannot be read, *trouble becomes one sentence, the caller's. */
struct gathered_file gathered_read(const char *state, char **trouble);
void gathered_clear(struct gathered_file *file);

/* Appends the enclosure's minutes that end after record->newest and begin
 * before `until`, as minute rows; what lies between them and what is there
 * becomes a row of unknown time.  record->newest moves on.  Of a series the
 * archive has no place for yet, which it makes at a full hour (daemon/archive.h),
 * only what it will take is taken. */
void gathered_append(const struct gathered_file *file, const char *enclosure, double until,
		     struct record *record);

#endif
