/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ends a process by SIGKILL at its N-th change of a file below a folder: a
 * library that is loaded before all others (LD_PRELOAD), for tests only.  A
 * write is cut in half, everything else dies before it happens; so the state
 * after a change is that before the next one.  Told by the environment:
 *   KILLPOINT_BELOW  the folder, as realpath(3) names it
 *   KILLPOINT_AT     N, from 1
 *   KILLPOINT_WHO    "watcher": the process that was started;
 *                    "courier": a child of it that changes the outbox
 *   KILLPOINT_WHOLE  set: a write dies before it happens, too
 * now.json is not counted: it holds nothing that has to last.
 */
#include <dlfcn.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* A library of the process it watches has nowhere else to keep this. */
static struct {
	const char *below;
	long at, count;
	bool courier, whole;
	pid_t started;
} point;

__attribute__((constructor)) static void begin(void)
{
	const char *at = getenv("KILLPOINT_AT"), *who = getenv("KILLPOINT_WHO");

	point.below = getenv("KILLPOINT_BELOW");
	point.at = at ? strtol(at, NULL, 10) : 0;
	point.courier = who && strcmp(who, "courier") == 0;
	point.whole = getenv("KILLPOINT_WHOLE") != NULL;
	point.started = getpid();
}

static bool is_counted(const char *path)
{
	size_t length = point.below ? strlen(point.below) : 0;

	if (point.at <= 0 || length == 0 || strncmp(path, point.below, length) != 0 ||
	    strncmp(path + length, "/now.json", 9) == 0)
		return false;
	if (!point.courier)
		return getpid() == point.started;
	return getpid() != point.started && strncmp(path + length, "/outbox/", 8) == 0;
}

/* Is this the change at which to die? */
static bool is_last(const char *path)
{
	return is_counted(path) && ++point.count == point.at;
}

static void die(void)
{
	kill(getpid(), SIGKILL);
	for (;;)
		pause();
}

/* Where an open file is; "" when it has no name. */
static const char *path_of(int fd, char *path, size_t size)
{
	char link[64];
	ssize_t length;

	snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
	length = readlink(link, path, size - 1);
	path[length > 0 ? length : 0] = '\0';
	return path;
}

static bool is_last_of(int fd)
{
	char path[4096];

	return is_last(path_of(fd, path, sizeof path));
}

/* What the name would mean without this library; POSIX wants the detour from
 * an object's address to a function's (dlsym, rationale). */
static void next(const char *name, void *function)
{
	void *address = dlsym(RTLD_NEXT, name);

	memcpy(function, &address, sizeof address);
}

ssize_t write(int fd, const void *bytes, size_t size)
{
	ssize_t (*real)(int, const void *, size_t);

	next("write", &real);
	if (is_last_of(fd)) {
		if (!point.whole && size > 1)
			real(fd, bytes, size / 2);
		die();
	}
	return real(fd, bytes, size);
}

int fsync(int fd)
{
	int (*real)(int);

	next("fsync", &real);
	if (is_last_of(fd))
		die();
	return real(fd);
}

int fdatasync(int fd)
{
	int (*real)(int);

	next("fdatasync", &real);
	if (is_last_of(fd))
		die();
	return real(fd);
}

int ftruncate(int fd, off_t size)
{
	int (*real)(int, off_t);

	next("ftruncate", &real);
	if (is_last_of(fd))
		die();
	return real(fd, size);
}

int rename(const char *from, const char *to)
{
	int (*real)(const char *, const char *);

	next("rename", &real);
	if (is_last(to))
		die();
	return real(from, to);
}

int unlink(const char *path)
{
	int (*real)(const char *);

	next("unlink", &real);
	if (is_last(path))
		die();
	return real(path);
}
