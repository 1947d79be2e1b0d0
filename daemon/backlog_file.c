/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is queued, in a file; see backlog_file.h.
 */
#include "daemon/backlog_file.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>

#include "conf/gathered.h"
#include "conf/readfile.h"
#include "daemon/log.h"

double backlog_file_recover(const char *path, struct backlog *backlog)
{
	size_t size, at = 0, count = 0;
	char *bytes = file_read(path, GATHERED_MOST, &size);
	struct gathered_minute minute;
	double end = 0;

	if (!bytes && errno != ENOENT)
		log_errno("%s cannot be read; minutes that were not archived yet are lost", path);
	while (bytes && gathered_next((const unsigned char *)bytes, size, NULL, &at, &minute)) {
		backlog_restore(backlog, &minute);
		end = fmax(end, (double)minute.end);
		count++;
	}
	if (count)
		log_info("%zu minutes of enclosures that a sudden end had left are archived now",
			 count);
	free(bytes);
	return end;
}

static void put(void *context, const struct gathered_minute *minute)
{
	struct journal *journal = context;

	gathered_put(journal_add(journal, gathered_size(minute->count)), minute);
}

void backlog_file_renew(struct backlog_file *file, const struct backlog *backlog)
{
	file->fresh = false;
	journal_anew(&file->journal);
	gathered_mark(journal_add(&file->journal, GATHERED_MARK));
	backlog_each(backlog, put, &file->journal);
	file->torn = !journal_write(&file->journal);
}

void backlog_file_open(struct backlog_file *file, const char *path, const struct backlog *backlog)
{
	*file = (struct backlog_file){ 0 };
	journal_open(&file->journal, path);
	backlog_file_renew(file, backlog);
}

void backlog_file_close(struct backlog_file *file)
{
	journal_close(&file->journal);
}

void backlog_file_add(struct backlog_file *file, const struct backlog *backlog, size_t enclosure,
		      const struct closed_minute *minute)
{
	struct gathered_minute gathered;

	file->fresh = true;
	if (file->torn)
		return;
	backlog_describe(backlog, enclosure, minute, &gathered);
	put(&file->journal, &gathered);
}

void backlog_file_write(struct backlog_file *file, const struct backlog *backlog)
{
	if (file->torn && file->fresh)
		backlog_file_renew(file, backlog);
	else if (!file->torn && !journal_write(&file->journal))
		file->torn = true;
}
