/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is queued, in a file; see backlog_file.h.
 */
#include "daemon/backlog_file.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <unistd.h>

#include "conf/gathered.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/log.h"

enum {
	STALE_TIMES = 4,     /* a full backlog's file stays below GATHERED_MOST */
	STALE_LEAST = 65536, /* bytes: a file so small is not worth it */
};

static void forget_leftover(struct backlog_file *file)
{
	free(file->leftover);
	file->leftover = NULL;
}

double backlog_file_recover(struct backlog_file *file, const char *path, struct backlog *backlog)
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
		log_info("%zu minute%s of enclosures that a sudden end had left %s archived now",
			 count, count == 1 ? "" : "s", count == 1 ? "is" : "are");
	if (count)
		file->leftover = must_copy(path);
	free(bytes);
	return end;
}

/* What is archived makes most of the file.  A record takes up to twice as much
 * there as in the backlog. */
static bool is_stale(const struct backlog_file *file, const struct backlog *backlog)
{
	return file->journal.size > STALE_TIMES * backlog_bytes(backlog) + STALE_LEAST;
}

static void put(void *context, const struct gathered_minute *minute)
{
	struct journal *journal = context;

	gathered_put(journal_add(journal, gathered_size(minute->count)), minute);
}

void backlog_file_renew(struct backlog_file *file, const struct backlog *backlog)
{
	if (!file->journal.path) {
		if (file->leftover && !backlog_bytes(backlog)) {
			unlink(file->leftover);
			forget_leftover(file);
		}
		return;
	}
	file->fresh = false;
	journal_anew(&file->journal);
	gathered_mark(journal_add(&file->journal, GATHERED_MARK));
	backlog_each(backlog, put, &file->journal);
	file->torn = !journal_write(&file->journal);
}

bool backlog_file_open(struct backlog_file *file, const char *path, const struct backlog *backlog)
{
	backlog_file_close(file);
	journal_open(&file->journal, path);
	backlog_file_renew(file, backlog);
	return !file->torn;
}

void backlog_file_close(struct backlog_file *file)
{
	journal_close(&file->journal);
	forget_leftover(file);
	*file = (struct backlog_file){ 0 };
}

void backlog_file_add(struct backlog_file *file, const struct backlog *backlog, size_t enclosure,
		      const struct closed_minute *minute)
{
	struct gathered_minute gathered;

	file->fresh = true;
	if (file->torn || !file->journal.path)
		return;
	backlog_describe(backlog, enclosure, minute, &gathered);
	put(&file->journal, &gathered);
}

void backlog_file_write(struct backlog_file *file, const struct backlog *backlog)
{
	if (file->fresh && (file->torn || is_stale(file, backlog)))
		backlog_file_renew(file, backlog);
	else if (file->journal.path && !file->torn && !journal_write(&file->journal))
		file->torn = true;
}
