/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Small files, whole or not there; see files.h.
 */
#include "daemon/files.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"

static bool write_all(int fd, const char *bytes, size_t size)
{
	while (size > 0) {
		ssize_t done = write(fd, bytes, size);

		if (done < 0 && errno == EINTR)
			continue;
		if (done <= 0)
			return false;
		bytes += done;
		size -= (size_t)done;
	}
	return true;
}

bool file_read_at(int fd, void *bytes, size_t size, off_t offset)
{
	errno = 0;
	while (size) {
		ssize_t got = pread(fd, bytes, size, offset);

		if (got < 0 && errno == EINTR)
			continue;
		if (got <= 0)
			return false;
		bytes = (char *)bytes + got;
		size -= (size_t)got;
		offset += got;
	}
	return true;
}

bool file_write_at(int fd, const void *bytes, size_t size, off_t offset)
{
	while (size) {
		ssize_t put = pwrite(fd, bytes, size, offset);

		if (put < 0 && errno == EINTR)
			continue;
		if (put <= 0)
			return false;
		bytes = (const char *)bytes + put;
		size -= (size_t)put;
		offset += put;
	}
	return true;
}

void path_sync(const char *path)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC);

	if (fd < 0)
		return;
	fsync(fd);
	close(fd);
}

void path_sync_new(const char *path)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC);

	if (fd < 0)
		return;
	fsync(fd);
	posix_fadvise(fd, 0, 0, POSIX_FADV_DONTNEED);
	close(fd);
}

static void sync_folder_of(const char *path)
{
	char *folder = must_copy(path);
	char *slash = strrchr(folder, '/');

	if (slash)
		*slash = '\0';
	path_sync(slash ? folder : ".");
	free(folder);
}

bool file_replace(const char *path, const char *bytes, size_t size, bool synced)
{
	char *beside = must_print("%s.new", path);
	int fd = open(beside, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0640);
	bool good = fd >= 0 && write_all(fd, bytes, size) && (!synced || fsync(fd) == 0);
	int error = errno;

	if (fd >= 0 && close(fd) != 0 && good) {
		good = false;
		error = errno;
	}
	if (good && rename(beside, path) != 0) {
		good = false;
		error = errno;
	}
	if (good && synced)
		sync_folder_of(path);
	if (!good && fd >= 0)
		unlink(beside);
	free(beside);
	errno = error;
	return good;
}

bool folder_make(const char *path, unsigned mode)
{
	struct stat status;

	if (mkdir(path, mode) == 0)
		return chmod(path, mode) == 0;
	if (errno != EEXIST)
		return false;
	if (stat(path, &status) != 0)
		return false;
	errno = ENOTDIR;
	return S_ISDIR(status.st_mode);
}

bool file_is_at(int fd, const char *path)
{
	struct stat open, there;

	return fd >= 0 && fstat(fd, &open) == 0 && stat(path, &there) == 0 &&
	       open.st_dev == there.st_dev && open.st_ino == there.st_ino;
}
