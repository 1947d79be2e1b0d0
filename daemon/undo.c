/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Heads of archives under way; see undo.h.
 */
#include "daemon/undo.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/checksum.h"
#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/files.h"

#define UNDO_FILE ".undo" /* no enclosure's name begins with a dot */

enum {
	UNDO_MOST = 64 << 20,   /* bytes: far more than the heads of one round */
	FIRST_ROOM = 65536,     /* bytes */
	ALIGNED = 8,            /* bytes: what a head is made of */
};

struct start {
	char magic[8];
	uint64_t size;          /* bytes that follow */
	uint64_t sum;           /* of them */
};

/* Then come `size` bytes. */
struct entry {
	char name[ENCLOSURE_NAME];
	uint64_t size;
};

static const char start_magic[8] = "WSUNDO1";

static void make_room(struct undo *undo, size_t size)
{
	while (undo->used + size > undo->room) {
		undo->room = undo->room ? 2 * undo->room : FIRST_ROOM;
		undo->bytes = must_resize(undo->bytes, undo->room, 1);
	}
}

/* The entry at that place into *entry; false at the end, and where none can be. */
static bool entry_at(const struct undo *undo, size_t at, struct entry *entry)
{
	if (undo->used - at < sizeof *entry)
		return false;
	memcpy(entry, undo->bytes + at, sizeof *entry);
	return memchr(entry->name, '\0', sizeof entry->name) && !strchr(entry->name, '/') &&
	       entry->size % ALIGNED == 0 && entry->size <= undo->used - at - sizeof *entry;
}

/* Where the entry of that name is; undo->used: nowhere. */
static size_t find(const struct undo *undo, const char *name, struct entry *entry)
{
	size_t at = sizeof(struct start);

	while (entry_at(undo, at, entry)) {
		if (strcmp(entry->name, name) == 0)
			return at;
		at += sizeof *entry + entry->size;
	}
	return undo->used;
}

/* Whether what was read is whole. */
static bool is_whole(const struct undo *undo, size_t size)
{
	struct start start;

	if (size < sizeof start)
		return false;
	memcpy(&start, undo->bytes, sizeof start);
	return memcmp(start.magic, start_magic, sizeof start.magic) == 0 &&
	       start.size <= size - sizeof start &&
	       start.sum == checksum(undo->bytes + sizeof start, start.size);
}

static bool load(struct undo *undo)
{
	struct stat about;
	size_t got = 0;

	if (fstat(undo->fd, &about) < 0)
		return false;
	size_t size = about.st_size < UNDO_MOST ? (size_t)about.st_size : 0;

	make_room(undo, size + sizeof(struct start));
	while (got < size) {
		ssize_t more = pread(undo->fd, undo->bytes + got, size - got, (off_t)got);

		if (more < 0 && errno == EINTR)
			continue;
		if (more < 0)
			return false;
		if (more == 0)
			break;
		got += (size_t)more;
	}
	undo->used = sizeof(struct start);
	if (is_whole(undo, got))
		undo->used += ((const struct start *)undo->bytes)->size;
	return true;
}

bool undo_open(struct undo *undo, const char *folder)
{
	char *path = must_print("%s/" UNDO_FILE, folder);

	*undo = (struct undo){ .folder = must_copy(folder) };
	undo->fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0640);
	bool good = undo->fd >= 0 && load(undo);
	int error = errno;

	if (good)
		path_sync(folder);
	free(path);
	errno = error;
	return good;
}

void undo_close(struct undo *undo)
{
	if (undo->fd >= 0)
		close(undo->fd);
	free(undo->folder);
	free(undo->bytes);
	*undo = (struct undo){ .fd = -1 };
}

const char *undo_name(const struct undo *undo, size_t i)
{
	size_t at = sizeof(struct start);
	struct entry entry;

	while (entry_at(undo, at, &entry)) {
		if (i-- == 0)
			return (const char *)undo->bytes + at;
		at += sizeof entry + entry.size;
	}
	return NULL;
}

void undo_add(struct undo *undo, const char *name, const struct archive_head *head)
{
	struct entry entry = { .size = head->size };

	snprintf(entry.name, sizeof entry.name, "%s", name);
	make_room(undo, sizeof entry + head->size);
	memcpy(undo->bytes + undo->used, &entry, sizeof entry);
	memcpy(undo->bytes + undo->used + sizeof entry, head->bytes, head->size);
	undo->used += sizeof entry + head->size;
}

void undo_forget(struct undo *undo, const char *name)
{
	struct entry entry;
	size_t at = find(undo, name, &entry);

	if (at == undo->used)
		return;
	size_t whole = sizeof entry + entry.size;

	undo->used -= whole;
	memmove(undo->bytes + at, undo->bytes + at + whole, undo->used - at);
}

bool undo_put_back(struct undo *undo, const char *name, char why[ARCHIVE_TEXT])
{
	struct entry entry;
	size_t at = find(undo, name, &entry);

	if (at == undo->used)
		return true;
	char *path = must_print("%s/%s.rrd", undo->folder, name);
	bool done = archive_head_put(path, undo->bytes + at + sizeof entry, entry.size, why);

	free(path);
	if (done)
		undo_forget(undo, name);
	return done;
}

bool undo_write(struct undo *undo, bool synced, char why[ARCHIVE_TEXT])
{
	struct start start = { .size = undo->used - sizeof start };
	bool good = true;

	memcpy(start.magic, start_magic, sizeof start.magic);
	start.sum = checksum(undo->bytes + sizeof start, start.size);
	memcpy(undo->bytes, &start, sizeof start);
	for (size_t done = 0; good && done < undo->used;) {
		ssize_t put = pwrite(undo->fd, undo->bytes + done, undo->used - done, (off_t)done);

		good = put > 0 || (put < 0 && errno == EINTR);
		if (put > 0)
			done += (size_t)put;
	}
	good = good && (!synced || fdatasync(undo->fd) == 0);
	undo->unsure = !good;
	if (!good)
		snprintf(why, ARCHIVE_TEXT, "the heads of the archives cannot be saved: %s",
			 strerror(errno));
	return good;
}
