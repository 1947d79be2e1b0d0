/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A whole small file into memory; see readfile.h.
 */
#include "conf/readfile.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdlib.h>
#include <unistd.h>

#include "conf/memory.h"

enum {
	CHUNK = 4096,
	PIPE_PATIENCE = 2000, /* ms */
};

/* Whether a pipe has more to read within a short while. */
static bool comes(int fd)
{
	struct pollfd wait = { .fd = fd, .events = POLLIN };

	return poll(&wait, 1, PIPE_PATIENCE) > 0;
}

char *file_read(const char *path, size_t ceiling, size_t *size)
{
	/* A pipe without a writer must not hold up a watch that reads its
	 * configuration again. */
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
	char *bytes = NULL;
	size_t length = 0, room = 0;
	ssize_t got = 1;
	int error = 0;

	if (fd < 0)
		return NULL;

	/* Read to its end, whatever its length is said to be. */
	while (got > 0 && length <= ceiling) {
		if (room - length < CHUNK) {
			room = room * 2 + 2 * (size_t)CHUNK;
			bytes = must_resize(bytes, room, 1);
		}
		do
			got = read(fd, bytes + length, room - length - 1);
		while (got < 0 && (errno == EINTR || (errno == EAGAIN && comes(fd))));
		if (got < 0)
			error = errno;
		else
			length += (size_t)got;
	}
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
