/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Appending to the alert log; see alertfile.h.
 */
#include "daemon/alertfile.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/files.h"
#include "daemon/log.h"

enum { TAIL_MOST = 1 << 20 }; /* bytes at the end that are looked through */

/* One write; what a full disk cuts short, or does not take to the end, is
 * taken back. */
static bool append(int fd, const char *bytes, size_t size)
{
	off_t end = lseek(fd, 0, SEEK_END);
	ssize_t done = write(fd, bytes, size);

	if (done == (ssize_t)size && fdatasync(fd) == 0)
		return true;
	int error = done < 0 || done == (ssize_t)size ? errno : ENOSPC;

	if (done > 0 && end >= 0 && ftruncate(fd, end) != 0)
		error = errno;
	errno = error;
	return false;
}

int alertfile_open(const char *path)
{
	int fd = open(path, O_RDWR | O_CREAT | O_APPEND | O_CLOEXEC, 0640);
	char last = '\n';

	if (fd < 0)
		return -1;
	off_t end = lseek(fd, 0, SEEK_END);

	if (end > 0 && pread(fd, &last, 1, end - 1) == 1 && last != '\n') {
		log_warn("%s: the last line was torn; it is kept as it is", path);
		if (!append(fd, "\n", 1))
			log_errno("%s", path);
	}
	return fd;
}

/* An open file keeps what it holds after its name is gone. */
static void rescue(int fd, const char *path)
{
	struct stat status;

	if (fd < 0 || fstat(fd, &status) != 0 || status.st_nlink > 0 || status.st_size == 0)
		return;
	char *bytes = must_calloc(1, (size_t)status.st_size);
	ssize_t got = pread(fd, bytes, (size_t)status.st_size, 0);

	if (got > 0 && file_replace(path, bytes, (size_t)got, true))
		log_warn("%s was removed; what it held is written there again", path);
	free(bytes);
}

int alertfile_again(int fd, const char *path)
{
	if (access(path, F_OK) != 0)
		rescue(fd, path);
	int again = alertfile_open(path);

	if (again < 0)
		return fd; /* tried again */
	if (fd >= 0)
		close(fd);
	return again;
}

/* The records as lines, the newlines included; malloc'ed. */
static char *lines_of(const struct alert_record *records, size_t count, size_t *size)
{
	char *lines = NULL;
	FILE *out = open_memstream(&lines, size);

	for (size_t i = 0; out && i < count; i++) {
		char *line = alert_to_line(&records[i]);

		fprintf(out, "%s\n", line);
		free(line);
	}
	if (out)
		fclose(out);
	return lines;
}

bool alertfile_append(int fd, const struct alert_record *records, size_t count)
{
	size_t size = 0;
	char *lines = lines_of(records, count, &size);
	bool good = lines && append(fd, lines, size);
	int error = errno;

	free(lines);
	errno = error;
	return good;
}

bool alertfile_holds(int fd, const struct alert_record *record)
{
	off_t end = lseek(fd, 0, SEEK_END);
	off_t from = end > TAIL_MOST ? end - TAIL_MOST : 0;
	char *tail = must_calloc((size_t)(end - from) + 1, 1);
	char *line = alert_to_line(record);
	char *whole = must_print("\n%s\n", line);

	tail[0] = '\n'; /* so that the first line of the file has one before it too */
	ssize_t got = pread(fd, tail + 1, (size_t)(end - from), from);
	/* No text search: where a power cut tore the file there may be zeros. */
	bool held = got > 0 && memmem(tail, (size_t)got + 1, whole, strlen(whole));

	free(whole);
	free(line);
	free(tail);
	return held;
}
