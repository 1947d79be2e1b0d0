/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * See archive_update.h.
 */
#include "tests/archive_update.h"

enum archive_result archive_update(const char *path, const uint64_t rows[ROW_SIZES],
				   const struct archive_minute *minutes, size_t count,
				   char why[ARCHIVE_TEXT])
{
	enum archive_result result;

	do {
		struct archive_job *job = archive_begin(path, rows, minutes, count, why);
		size_t taken = archive_write(job);

		result = archive_result(job);
		archive_end(job);
		minutes += taken;
		count -= taken;
	} while (result == ARCHIVE_WRITTEN && count);
	return result;
}
