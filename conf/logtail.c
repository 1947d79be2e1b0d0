/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Following the alert log; see logtail.h.
 */
#include "conf/logtail.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"

enum { CHUNK = 4096 };

static int open_log(const char *path)
{
	return open(path, O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
}

bool logtail_begin(struct logtail *tail, const char *path)
{
	*tail = (struct logtail){ .path = must_copy(path), .fd = open_log(path) };
	if (tail->fd < 0)
		return errno == ENOENT;
	return lseek(tail->fd, 0, SEEK_END) >= 0;
}

/* Reads what was added; false when nothing was. */
static bool read_more(struct logtail *tail)
{
	if (tail->fd < 0)
		tail->fd = open_log(tail->path);
	if (tail->fd < 0)
		return false;
	if (tail->kept && tail->at > 0)
		memmove(tail->kept, tail->kept + tail->at, tail->length - tail->at);
	tail->length -= tail->at;
	tail->at = 0;
	tail->kept = must_resize(tail->kept, tail->length + CHUNK, 1);

	ssize_t got = read(tail->fd, tail->kept + tail->length, CHUNK);

	if (got > 0)
		tail->length += (size_t)got;
	return got > 0;
}

/* The next whole line, ended by a zero; NULL when there is none yet. */
static char *next_line(struct logtail *tail)
{
	for (;;) {
		char *line = tail->kept ? tail->kept + tail->at : NULL;
		char *end = line ? memchr(line, '\n', tail->length - tail->at) : NULL;

		if (end) {
			*end = '\0';
			tail->at += (size_t)(end - line) + 1;
			return line;
		}
		if (!read_more(tail))
			return NULL;
	}
}

bool logtail_next(struct logtail *tail, struct alert_record *out)
{
	char *line;

	while ((line = next_line(tail)))
		if (alert_from_line(line, out))
			return true;
	return false;
}

void logtail_end(struct logtail *tail)
{
	if (tail->fd >= 0)
		close(tail->fd);
	free(tail->kept);
	free(tail->path);
	*tail = (struct logtail){ .fd = -1 };
}
