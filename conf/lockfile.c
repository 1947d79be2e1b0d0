/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The lock on a state folder, as others see it; see lockfile.h.
 */
#include "conf/lockfile.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <sys/file.h>
#include <unistd.h>

#include "conf/layout.h"

bool state_is_held(const char *state)
{
	char *path = state_path(state, LOCK_FILE);
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	bool held = fd >= 0 && flock(fd, LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;

	if (fd >= 0)
		close(fd);
	free(path);
	return held;
}
