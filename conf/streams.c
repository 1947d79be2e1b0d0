/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Gaps among the standard streams; see streams.h.
 */
#include "conf/streams.h"

#include <errno.h>
#include <fcntl.h>
#include <unistd.h>

void streams_fill(void)
{
	for (int fd = STDIN_FILENO; fd <= STDERR_FILENO; fd++) {
		if (fcntl(fd, F_GETFD) >= 0 || errno != EBADF)
			continue;
		/* The lowest free number is this one.  Opened the wrong way round,
		 * it fails as a closed one does, so nobody believes to be heard. */
		if (open("/dev/null", fd == STDIN_FILENO ? O_WRONLY : O_RDONLY) < 0)
			return;
	}
}
