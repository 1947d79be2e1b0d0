/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Appending to the alert log; see alertfile.h.
 */
#include "daemon/alertfile.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/log.h"

/* One write a record; what a full disk cuts short is taken back. */
static bool append(int fd, const char *bytes, size_t size)
{
	off_t end = lseek(fd, 0, SEEK_END);
	ssize_t done = write(fd, bytes, size);

	if (done == (ssize_t)size)
		return fdatasync(fd) == 0;
	int error = done < 0 ? errno : ENOSPC;

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

bool alertfile_append(int fd, const struct alert_record *record)
{
	char *line = alert_to_line(record);
	char *whole = must_print("%s\n", line);
	bool good = append(fd, whole, strlen(whole));
	int error = errno;

	free(whole);
	free(line);
	errno = error;
	return good;
}
