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
#include "daemon/archive_head.h"
#include "daemon/desk.h"
#include "daemon/log.h"

#define RRD_ENDING ".rrd"
#define WRITER_LOCK ".lock" /* no enclosure's name begins with a dot */

enum {
	LARGE_BLOCK = 1048576,  /* bytes: goes back to the system when it is freed */
	TEMPORARY_LETTERS = 6,  /* librrd writes new files as "<name>.rrd" and these */
};

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

/* What a predecessor has left half done is undone; what cannot be now is tried
 * again before that file's next update. */
static void undo_all(struct undo *undo)
{
	const char *name;
	char why[ARCHIVE_TEXT];

	for (size_t left = 0; (name = undo_name(undo, left));)
		if (!undo_put_back(undo, name, why)) {
			log_warn("%s.rrd: %s", name, why);
			left++;
		}
	if (!undo_write(undo, true, why))
		log_warn("%s", why);
}

static int64_t end_of(const char *path)
{
	char why[ARCHIVE_TEXT];
	struct archive_head head = { 0 };
	int64_t end = archive_head_read(path, &head, why) == HEAD_GOOD ? head.last : 0;

	archive_head_free(&head);
	return end;
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
		else if (ends_with(path, RRD_ENDING)) {
			int64_t last = end_of(path);

			*end = last > *end ? last : *end;
		}
		free(path);
	}
	closedir(dir);
	return true;
}

/* From birth to hello. */
static bool begin(struct desk *desk)
{
	const struct archivist *a = desk->a;
	struct report report = { .kind = REPORT_HELLO };
	char *folder = state_path(a->state, ARCHIVE_FOLDER);
	char why[ARCHIVE_TEXT] = "it has killed the archivist twice", problem[ARCHIVE_TEXT] = "";
	bool good = lock_folder(folder) >= 0 && undo_open(&desk->undo, folder, problem);

	if (good && a->suspect && !desk_set_aside(desk, a->suspect, why))
		log_warn("%s.rrd: %s", a->suspect, why);
	if (good)
		undo_all(&desk->undo);
	if (!good || !look_round(folder, &report.end)) {
		good = false;
		report.kind = REPORT_FOLDER;
		if (*problem)
			memcpy(report.text, problem, sizeof report.text);
		else
			snprintf(report.text, sizeof report.text, "%s: %s", folder,
				 strerror(errno));
	}
	desk_tell(desk, &report);
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

int archivist_run(const struct archivist *archivist)
{
	struct desk desk = { .a = archivist, .undo.fd = -1 };

	/* Its own end comes with the end of the pipe, whoever dies before. */
	signal(SIGTERM, SIG_IGN);
	prctl(PR_SET_PDEATHSIG, 0);
	unsetenv("RRDCACHED_ADDRESS"); /* librrd would ask somebody else */
	/* librrd makes a new file in memory, and libc would keep that for good. */
	mallopt(M_MMAP_THRESHOLD, LARGE_BLOCK);
	mallopt(M_TRIM_THRESHOLD, LARGE_BLOCK);
	bool good = begin(&desk);

	while (good && next_batch(archivist, &desk.batch))
		desk_work(&desk);
	free(desk.batch.bytes);
	undo_close(&desk.undo);
	return good ? EXIT_SUCCESS : EXIT_FAILURE;
}
