/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Records that outlast the process; see journal.h.
 */
#include "daemon/journal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/files.h"

enum { FIRST_ROOM = 4096 }; /* bytes */

static void shut(struct journal *journal)
{
	if (journal->fd >= 0)
		close(journal->fd);
	journal->fd = -1;
}

/* Opens the file, if it holds what is good, and cuts off what is not; false
 * with errno. */
static bool ready(struct journal *journal)
{
	struct stat about;

	if (journal->fd >= 0) {
		errno = ENOENT;
		return file_is_at(journal->fd, journal->path);
	}
	journal->fd = open(journal->path, O_WRONLY | O_CLOEXEC | O_NOFOLLOW |
						  (journal->size ? 0 : O_CREAT), 0640);
	if (journal->fd < 0 || fstat(journal->fd, &about) != 0)
		return false;
	errno = ENOENT;
	return about.st_size >= (off_t)journal->size &&
	       ftruncate(journal->fd, (off_t)journal->size) == 0;
}

static void say(struct journal *journal, bool good)
{
	if (log_changed(&journal->failing, !good) && !good)
		log_errno("%s cannot be written; until it can, a sudden end loses what is not "
			  "archived", journal->path);
}

void journal_open(struct journal *journal, const char *path)
{
	*journal = (struct journal){ .path = must_copy(path), .fd = -1 };
}

void journal_close(struct journal *journal)
{
	if (!journal->path)
		return;
	shut(journal);
	free(journal->path);
	free(journal->waiting);
	*journal = (struct journal){ .fd = -1 };
}

unsigned char *journal_add(struct journal *journal, size_t size)
{
	while (journal->used + size > journal->room) {
		journal->room = journal->room ? 2 * journal->room : FIRST_ROOM;
		journal->waiting = must_resize(journal->waiting, journal->room, 1);
	}
	journal->used += size;
	return journal->waiting + journal->used - size;
}

void journal_anew(struct journal *journal)
{
	journal->used = 0;
	journal->anew = true;
}

static bool replace(struct journal *journal)
{
	bool good = file_replace(journal->path, (const char *)journal->waiting, journal->used,
				 false);

	if (!good)
		return false;
	shut(journal);
	journal->size = journal->used;
	journal->anew = false;
	return true;
}

static bool append(struct journal *journal)
{
	size_t done = 0;
	bool good = ready(journal);

	while (good && done < journal->used) {
		ssize_t put = pwrite(journal->fd, journal->waiting + done, journal->used - done,
				     (off_t)(journal->size + done));

		good = put > 0 || (put < 0 && errno == EINTR);
		if (put > 0)
			done += (size_t)put;
		else if (put == 0)
			errno = ENOSPC;
	}
	if (good)
		journal->size += done;
	else
		shut(journal); /* what was written in part is cut off when it is opened again */
	return good;
}

bool journal_write(struct journal *journal)
{
	if (!journal->used)
		return true;
	bool good = journal->anew ? replace(journal) : append(journal);

	say(journal, good);
	journal->used = 0;
	return good;
}
