/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Minutes into one archive, as the archivist does it for many; nothing is kept to undo it with.
 */
#ifndef WARMSIDE_TESTS_ARCHIVE_UPDATE_H
#define WARMSIDE_TESTS_ARCHIVE_UPDATE_H

#include "daemon/archive.h"

/* Parameters as those of archive_begin.  Not ARCHIVE_WRITTEN: why says why. */
enum archive_result archive_update(const char *path, const uint64_t rows[ROW_SIZES],
				   const struct archive_minute *minutes, size_t count,
				   char why[ARCHIVE_TEXT]);

#endif
