/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A whole small file into memory; see readfile.h.
 */
#include "conf/readfile.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <unistd.h>

#include "conf/memory.h"

enum { CHUNK = 4096 };

char *file_read(const char *path, size_t ceiling, size_t *size)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY);
	char *bytes = NULL;
	size_t length = 0, room = 0;
	ssize_t got = fd < 0 ? -1 : 1;
	int error = fd < 0 ? errno : 0;

	/* Read to its end, whatever its length is said to be. */
	while (got > 0 && length <= ceiling) {
		if (room - length < CHUNK) {
			room = room * 2 + 2 * CHUNK;
			bytes = must_resize(bytes, room, 1);
		}
		do
			got = read(fd, bytes + length, room - length - 1);
		while (got < 0 && errno == EINTR);
		if (got < 0)
			error = errno;
		else
			length += (size_t)got;
	}
	if (fd >= 0)
		close(fd);
	if (length > ceiling)
		error = EFBIG;
	if (error) {
		free(bytes);
		errno = error;
		return NULL;
	}
	bytes[length] = '\0';
	*size = length;
	return bytes;
}
