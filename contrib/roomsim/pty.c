/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A pseudo-terminal that stands for a serial port; see pty.h.
 */
#include "contrib/roomsim/pty.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include "conf/memory.h"

static bool make_raw(const char *slave)
{
	int fd = open(slave, O_RDWR | O_NOCTTY);
	struct termios mode;
	bool done;

	if (fd < 0)
		return false;
	done = tcgetattr(fd, &mode) == 0;
	cfmakeraw(&mode);
	done = done && tcsetattr(fd, TCSANOW, &mode) == 0;
	close(fd); /* from now on the master sees that nobody is there */
	return done;
}

static bool put_link(const char *target, const char *link)
{
	struct stat there;

	if (lstat(link, &there) == 0 && !S_ISLNK(there.st_mode)) {
		errno = EEXIST;
		return false;
	}
	if (unlink(link) != 0 && errno != ENOENT)
		return false;
	return symlink(target, link) == 0;
}

bool pty_open(struct pty *pty, const char *link)
{
	char slave[64];

	pty->link = must_copy(link);
	pty->fd = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
	if (pty->fd < 0 || grantpt(pty->fd) != 0 || unlockpt(pty->fd) != 0 ||
	    ptsname_r(pty->fd, slave, sizeof(slave)) != 0 || !make_raw(slave)) {
		fprintf(stderr, "roomsim: no pseudo-terminal to be had: %s\n", strerror(errno));
		return false;
	}
	if (!put_link(slave, link)) {
		fprintf(stderr, "roomsim: cannot make the link %s: %s\n", link, strerror(errno));
		return false;
	}
	return true;
}

bool pty_listened(const struct pty *pty)
{
	struct pollfd look = { .fd = pty->fd };

	return poll(&look, 1, 0) >= 0 && !(look.revents & POLLHUP);
}

/* Only if the link is still ours: a later simulator may have put its own. */
static void take_link_away(const struct pty *pty)
{
	char slave[64], target[PATH_MAX];
	ssize_t length = readlink(pty->link, target, sizeof(target) - 1);

	if (length < 0 || ptsname_r(pty->fd, slave, sizeof(slave)) != 0)
		return;
	target[length] = '\0';
	if (strcmp(slave, target) == 0)
		unlink(pty->link);
}

void pty_close(struct pty *pty)
{
	if (pty->fd >= 0) {
		take_link_away(pty);
		close(pty->fd);
	}
	free(pty->link);
	*pty = (struct pty){ .fd = -1 };
}
