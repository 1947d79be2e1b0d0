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
	UNDO_MOST = 64 << 20,   /* bytes: far more than the heads of our archives */
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

/* What is torn, or none of ours, is nothing. */
static bool load(struct undo *undo)
{
	struct start start;

	make_room(undo, sizeof start);
	undo->used = undo->old = sizeof start;
	if (!file_read_at(undo->fd, &start, sizeof start, 0))
		return errno == 0;
	if (memcmp(start.magic, start_magic, sizeof start.magic) != 0 || start.size > UNDO_MOST)
		return true;
	make_room(undo, start.size);
	if (!file_read_at(undo->fd, undo->bytes + sizeof start, start.size, sizeof start))
		return errno == 0;
	if (checksum(undo->bytes + sizeof start, start.size) == start.sum)
		undo->used = undo->old = sizeof start + start.size;
	return true;
}

static bool open_file(struct undo *undo, char why[ARCHIVE_TEXT])
{
	struct stat about;

	undo->fd = open(undo->path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0640);
	if (undo->fd >= 0 && fstat(undo->fd, &about) == 0 && S_ISREG(about.st_mode))
		return true;
	snprintf(why, ARCHIVE_TEXT, "%s: %s; remove it, and it is made anew", undo->path,
		 undo->fd < 0 ? strerror(errno) : "it is no file");
	return false;
}

bool undo_open(struct undo *undo, const char *folder, char why[ARCHIVE_TEXT])
{
	*undo = (struct undo){ .folder = must_copy(folder),
			       .path = must_print("%s/" UNDO_FILE, folder) };
	if (!open_file(undo, why))
		return false;
	if (!load(undo)) {
		snprintf(why, ARCHIVE_TEXT, "%s: %s", undo->path, strerror(errno));
		return false;
	}
	path_sync(folder);
	return true;
}

void undo_close(struct undo *undo)
{
	if (undo->fd >= 0)
		close(undo->fd);
	free(undo->folder);
	free(undo->path);
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

	undo_forget(undo, name);
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
	undo->old -= at < undo->old ? whole : 0;
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

static bool overwrite(const struct undo *undo, bool synced)
{
	return file_write_at(undo->fd, undo->bytes, undo->used, 0) &&
	       (!synced || fdatasync(undo->fd) == 0);
}

/* The old one is there until the new one is whole, and on the disk. */
static bool replace(struct undo *undo)
{
	if (!file_replace(undo->path, (const char *)undo->bytes, undo->used, true))
		return false;
	int fd = open(undo->path, O_RDWR | O_CLOEXEC | O_NOFOLLOW);

	if (fd < 0)
		return false;
	close(undo->fd);
	undo->fd = fd;
	return true;
}

bool undo_write(struct undo *undo, bool synced, char why[ARCHIVE_TEXT])
{
	struct start start = { .size = undo->used - sizeof start };
	bool stays = undo->old > sizeof start, good;

	memcpy(start.magic, start_magic, sizeof start.magic);
	start.sum = checksum(undo->bytes + sizeof start, start.size);
	memcpy(undo->bytes, &start, sizeof start);
	errno = EFBIG;
	good = start.size <= UNDO_MOST && (stays ? replace(undo) : overwrite(undo, synced));
	if (good)
		undo->old = undo->used;
	else
		snprintf(why, ARCHIVE_TEXT, "the heads of the archives cannot be saved: %s",
			 strerror(errno));
	/* What could not be synced once is only sure when it is. */
	undo->unsure = !good || (undo->unsure && !synced && !stays);
	return good;
}
