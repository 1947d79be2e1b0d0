/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The archivist's life; see archivist.h.
 */
#include "daemon/archivist.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <malloc.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/archive.h"
#include "daemon/archive_resize.h"
#include "daemon/files.h"
#include "daemon/log.h"
#include "daemon/when.h"

#define RRD_ENDING ".rrd"
#define HEAD_ENDING ".rrd.head"
#define WRITER_LOCK ".lock" /* no enclosure's name begins with a dot */

enum {
	LARGE_BLOCK = 1048576,  /* bytes: goes back to the system when it is freed */
	TEMPORARY_LETTERS = 6,  /* librrd writes new files as "<name>.rrd" and these */
	PARTS = 64,             /* files that are synced together */
	RESIZE_REST = 3600,     /* s without a try after one that failed */
	RESIZE_MOST = 20,       /* s of a batch in which one is begun: the watcher waits for it */
};

/* A batch as it was read. */
struct batch {
	struct batch_head head;
	unsigned char *bytes;
	size_t size, room;      /* bytes that came, bytes there are room for */
	double resize_at, resize_until; /* monotonic s: files get other rows only between them */
};

/* A section of a batch on its way into its file. */
struct part {
	uint32_t section;
	char name[ENCLOSURE_NAME];
	struct archive_minute *minutes;
	size_t count;
	struct archive_job *job;
	char why[ARCHIVE_TEXT];
};

/* A watcher that is gone reads nothing; what it handed over is finished. */
static void tell(const struct archivist *a, const struct report *report)
{
	ssize_t put;

	do
		put = write(a->reports, report, sizeof *report);
	while (put < 0 && errno == EINTR);
}

static bool ends_with(const char *name, const char *ending)
{
	size_t length = strlen(name), tail = strlen(ending);

	return length > tail && strcmp(name + length - tail, ending) == 0;
}

/* "T3.rrdAb3dE9": what a librrd that was killed has left. */
static bool left_over(const char *name)
{
	const char *letters = strrchr(name, '.');

	if (!letters || strncmp(letters, RRD_ENDING, strlen(RRD_ENDING)) != 0)
		return false;
	letters += strlen(RRD_ENDING);
	for (size_t i = 0; i < TEMPORARY_LETTERS; i++)
		if (!isalnum((unsigned char)letters[i]))
			return false;
	return letters[TEMPORARY_LETTERS] == '\0';
}

static void take_in_hand(const struct archivist *a, const char *name)
{
	snprintf(a->in_hand->name, sizeof a->in_hand->name, "%s", name);
}

/* Sets the enclosure's file aside and says so. */
static bool set_aside(const struct archivist *a, const char *name, char why[ARCHIVE_TEXT])
{
	struct report report = { .kind = REPORT_DAMAGED };
	char *path = archive_path(a->state, name);
	char problem[ARCHIVE_TEXT];
	char *aside = archive_set_aside(path, time(NULL), problem);
	bool done = aside;

	if (done) {
		snprintf(report.name, sizeof report.name, "%s", name);
		snprintf(report.file, sizeof report.file, "%s", strrchr(aside, '/') + 1);
		snprintf(report.text, sizeof report.text, "%s", why);
		tell(a, &report);
	} else {
		snprintf(why, ARCHIVE_TEXT, "%s", problem);
	}
	free(path);
	free(aside);
	return done;
}

/* The folder, locked against another archivist for as long as the descriptor
 * is open; -1 with errno.  It is not made here: on a mount point without its
 * mount the rows would be hidden as soon as that is back. */
static int lock_folder(const char *folder)
{
	char *lock = must_print("%s/" WRITER_LOCK, folder);
	int fd = open(lock, O_RDWR | O_CREAT | O_CLOEXEC, 0644);

	while (fd >= 0 && flock(fd, LOCK_EX) < 0)
		if (errno != EINTR) {
			int error = errno;

			close(fd);
			fd = -1;
			errno = error;
		}
	free(lock);
	return fd;
}

/* One file found at start: undo what was half done (what cannot be undone
 * now is tried again before the file's next update), and learn its end. */
static void visit(const char *path, int64_t *end)
{
	char why[ARCHIVE_TEXT];
	struct archive_head head = { 0 };

	if (!archive_head_restore(path, why))
		log_warn("%s: %s", path, why);
	else if (archive_head_read(path, &head, why) == HEAD_GOOD && head.last > *end)
		*end = head.last;
	archive_head_free(&head);
}

/* Everything in the folder: *end becomes the latest last update. */
static bool look_round(const char *folder, int64_t *end)
{
	DIR *dir = opendir(folder);
	const struct dirent *entry;

	if (!dir)
		return false;
	while ((entry = readdir(dir))) {
		char *path = must_print("%s/%s", folder, entry->d_name);

		if (left_over(entry->d_name))
			unlink(path);
		if (ends_with(entry->d_name, HEAD_ENDING))
			path[strlen(path) - strlen(".head")] = '\0';
		if (ends_with(path, RRD_ENDING))
			visit(path, end);
		free(path);
	}
	closedir(dir);
	return true;
}

/* From birth to hello. */
static bool begin(const struct archivist *a)
{
	struct report report = { .kind = REPORT_HELLO };
	char *folder = state_path(a->state, ARCHIVE_FOLDER);
	char why[ARCHIVE_TEXT] = "it has killed the archivist twice";
	bool good = lock_folder(folder) >= 0;

	if (good && a->suspect && !set_aside(a, a->suspect, why))
		log_warn("%s.rrd: %s", a->suspect, why);
	if (!good || !look_round(folder, &report.end)) {
		good = false;
		report.kind = REPORT_FOLDER;
		snprintf(report.text, sizeof report.text, "%s: %s", folder, strerror(errno));
	}
	tell(a, &report);
	free(folder);
	return good;
}

/* As many bytes as come before the pipe ends. */
static size_t read_up_to(int fd, void *bytes, size_t size)
{
	size_t got = 0;

	while (got < size) {
		ssize_t more = read(fd, (char *)bytes + got, size - got);

		if (more < 0 && errno == EINTR)
			continue;
		if (more <= 0)
			break;
		got += (size_t)more;
	}
	return got;
}

/* False at the end of the pipe; a batch cut short there is still returned,
 * with as many bytes as came. */
static bool next_batch(const struct archivist *a, struct batch *batch)
{
	if (read_up_to(a->batches, &batch->head, sizeof batch->head) < sizeof batch->head)
		return false;
	if (batch->head.size > batch->room) {
		batch->room = batch->head.size;
		batch->bytes = must_resize(batch->bytes, batch->room, 1);
	}
	batch->size = read_up_to(a->batches, batch->bytes, batch->head.size);
	return true;
}

/* The whole minutes of one section, `most` at most, into part. */
static void take_minutes(struct part *part, const unsigned char *bytes, size_t size,
			 uint32_t most)
{
	part->count = 0;
	part->minutes = must_calloc(most, sizeof *part->minutes);
	while (part->count < most && size >= sizeof(struct minute_head)) {
		struct minute_head head;

		memcpy(&head, bytes, sizeof head);
		size_t whole = sizeof head + head.count * sizeof(struct minute_cell);

		if (size < whole)
			break;
		part->minutes[part->count++] =
			(struct archive_minute){ head.end, head.series,
						 (const void *)(bytes + sizeof head) };
		bytes += whole;
		size -= whole;
	}
}

/* The next section into *part; false when the batch has no more, or was cut
 * short there because the watcher died while it wrote. */
static bool next_part(const struct batch *batch, uint32_t number, size_t *at, struct part *part)
{
	struct section_head section;

	if (number >= batch->head.sections || batch->size - *at < sizeof section)
		return false;
	memcpy(&section, batch->bytes + *at, sizeof section);
	*at += sizeof section;
	size_t there = batch->size - *at < section.size ? batch->size - *at : section.size;

	*part = (struct part){ .section = number };
	memcpy(part->name, section.name, sizeof part->name);
	take_minutes(part, batch->bytes + *at, there, section.minutes);
	*at += there;
	return true;
}

/* What keeps a file from getting other rows (a full disk) keeps no minute from being
 * written, and is said once an hour. */
static void resize(struct batch *batch, const char *name, const char *path)
{
	char why[ARCHIVE_TEXT];
	double now = when_monotonic();
	enum resize_result result =
		now < batch->resize_at || now > batch->resize_until
			? RESIZE_NOT_NEEDED
			: archive_resize(path, batch->head.rows, why);

	if (result == RESIZE_DONE)
		log_info("%s.rrd has as many rows now as archive { } says", name);
	if (result != RESIZE_FAILED)
		return;
	log_warn("%s.rrd keeps the rows it has, not those that archive { } says: %s", name, why);
	batch->resize_at = now + RESIZE_REST;
}

/* A file that turns out to be damaged is set aside and begun anew. */
static void begin_part(const struct archivist *a, struct batch *batch, struct part *part)
{
	char *path = archive_path(a->state, part->name);

	take_in_hand(a, part->name);
	resize(batch, part->name, path);
	part->job = archive_begin(path, batch->head.rows, part->minutes, part->count, part->why);
	if (archive_result(part->job) == ARCHIVE_DAMAGED && set_aside(a, part->name, part->why)) {
		archive_end(part->job);
		part->job = archive_begin(path, batch->head.rows, part->minutes, part->count,
					  part->why);
	}
	take_in_hand(a, "");
	free(path);
}

static void end_part(const struct archivist *a, const struct batch *batch, struct part *part)
{
	struct report report = { .number = batch->head.number, .kind = REPORT_FAILED,
				 .section = part->section };

	if (archive_end(part->job) != ARCHIVE_WRITTEN) {
		memcpy(report.name, part->name, sizeof report.name);
		memcpy(report.text, part->why, sizeof report.text);
		tell(a, &report);
	}
	free(part->minutes);
}

static void sync_folder(const struct archivist *a)
{
	char *folder = state_path(a->state, ARCHIVE_FOLDER);

	path_sync(folder);
	free(folder);
}

/* The order is what a power cut must find: the heads are on the disk before
 * any row is, the rows before the heads are dropped, and all of it before
 * the batch is acknowledged. */
static void write_parts(const struct archivist *a, struct batch *batch, struct part *parts,
			size_t count)
{
	bool synced = batch->head.synced, any = false;

	for (size_t i = 0; i < count; i++)
		begin_part(a, batch, &parts[i]);
	for (size_t i = 0; synced && i < count; i++)
		any |= archive_sync_head(parts[i].job);
	if (any)
		sync_folder(a);
	for (size_t i = 0; i < count; i++) {
		take_in_hand(a, parts[i].name);
		archive_write(parts[i].job);
		take_in_hand(a, "");
	}
	for (size_t i = 0; synced && i < count; i++)
		archive_sync(parts[i].job);
	for (size_t i = 0; i < count; i++)
		end_part(a, batch, &parts[i]);
	if (any)
		sync_folder(a);
}

static void work(const struct archivist *a, struct batch *batch)
{
	struct part *parts = must_calloc(PARTS, sizeof *parts);
	size_t at = 0, count = 0;
	uint32_t number = 0;

	batch->resize_until = when_monotonic() + RESIZE_MOST;
	while (next_part(batch, number, &at, &parts[count])) {
		number++;
		if (++count < PARTS)
			continue;
		write_parts(a, batch, parts, count);
		count = 0;
	}
	write_parts(a, batch, parts, count);
	free(parts);
	if (number == batch->head.sections)
		tell(a, &(struct report){ .number = batch->head.number, .kind = REPORT_DONE });
}

int archivist_run(const struct archivist *archivist)
{
	struct batch batch = { 0 };

	/* Its own end comes with the end of the pipe, whoever dies before. */
	signal(SIGTERM, SIG_IGN);
	prctl(PR_SET_PDEATHSIG, 0);
	unsetenv("RRDCACHED_ADDRESS"); /* librrd would ask somebody else */
	/* librrd makes a new file in memory, and libc would keep that for good. */
	mallopt(M_MMAP_THRESHOLD, LARGE_BLOCK);
	mallopt(M_TRIM_THRESHOLD, LARGE_BLOCK);
	if (!begin(archivist))
		return EXIT_FAILURE;
	while (next_batch(archivist, &batch))
		work(archivist, &batch);
	free(batch.bytes);
	return EXIT_SUCCESS;
}
