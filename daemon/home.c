/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The state folder; see home.h.
 */
#include "daemon/home.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/asking.h"
#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/files.h"
#include "daemon/log.h"

static const struct {
	const char *name;
	unsigned mode;
} parts[] = {
	{ ARCHIVE_FOLDER, 0750 },
	{ REQUESTS_FOLDER, 0770 }, /* the report tool's users leave requests here */
	{ OUTBOX_FOLDER, 0700 },   /* the daemon's alone: headers may hold secrets */
};

enum { PARTS = sizeof parts / sizeof *parts };

/* ---- at the start ----------------------------------------------------------- */

/* what, of the state folder or in it, cannot be made or opened: what helps. */
static void say_unusable(const char *state, const char *what, int error)
{
	char login[BY_SIZE];

	asking_login(login);
	if (error == EACCES)
		log_error("%s: no permission for %s; let root run \"install -d -o %s %s\", or run "
			  "warmsided as the user this folder belongs to", what, login, login, state);
	else if (error == EROFS)
		log_error("%s: the disk is read-only; state must name a folder that can be written",
			  what);
	else if (error == ENOENT)
		log_error("%s: the folder it is to lie in does not exist; make that first, or let "
			  "state name another", what);
	else if (error == ENOTDIR)
		log_error("%s: a file is where a folder must be; let state name another", what);
	else
		log_error("%s cannot be used: %s", what, strerror(error));
}

static bool make_folders(const char *state)
{
	bool good = folder_make(state, 0750);

	if (!good)
		say_unusable(state, state, errno);
	for (size_t i = 0; good && i < PARTS; i++) {
		char *path = state_path(state, parts[i].name);

		good = folder_make(path, parts[i].mode);
		if (!good)
			say_unusable(state, path, errno);
		free(path);
	}
	return good;
}

/* The lock file, ours; -1 with errno, EWOULDBLOCK when another daemon has it. */
static int take_lock(const char *state, int flags)
{
	char *path = state_path(state, LOCK_FILE);
	int fd = open(path, O_RDWR | O_CLOEXEC | flags, 0640);
	int error = errno;

	if (fd >= 0 && flock(fd, LOCK_EX | LOCK_NB) != 0) {
		error = errno;
		close(fd);
		fd = -1;
	}
	free(path);
	errno = error;
	return fd;
}

/* Where the lock lies is our disk. */
static void settle(struct home *home, int lock)
{
	struct stat status;

	home->lock = lock;
	home->away = false;
	if (fstat(lock, &status) == 0)
		home->disk = status.st_dev;
}

bool home_open(struct home *home, const char *path)
{
	*home = (struct home){ .path = must_copy(path), .lock = -1 };
	if (!make_folders(path))
		return false;
	int lock = take_lock(path, O_CREAT);

	if (lock >= 0) {
		settle(home, lock);
	} else if (errno == EWOULDBLOCK) {
		log_error("a warmsided runs already on %s; stop that first, or let state "
			  "name another folder", path);
	} else {
		int error = errno;
		char *file = state_path(path, LOCK_FILE);

		say_unusable(path, file, error);
		free(file);
	}
	return lock >= 0;
}

void home_close(struct home *home)
{
	if (home->lock >= 0)
		close(home->lock);
	free(home->path);
	*home = (struct home){ .lock = -1 };
}

/* ---- while the watch runs ----------------------------------------------------- */

/* Is the lock we hold still the one in the folder? */
static bool is_ours(const struct home *home)
{
	char *path = state_path(home->path, LOCK_FILE);
	bool same = file_is_at(home->lock, path);

	free(path);
	return same;
}

/* Makes parts that are missing; true when there were any. */
static bool mend_parts(const struct home *home)
{
	bool missing = false;

	for (size_t i = 0; i < PARTS; i++) {
		char *path = state_path(home->path, parts[i].name);

		if (access(path, F_OK) != 0 && errno == ENOENT &&
		    folder_make(path, parts[i].mode)) {
			log_warn("%s was gone and has been made anew", path);
			missing = true;
		}
		free(path);
	}
	return missing;
}

/* Is the folder that the state folder lay in still on that disk? */
static bool is_removed(const struct home *home)
{
	char *around = must_copy(home->path);
	size_t length = strlen(around);
	struct stat status;

	while (length > 1 && around[length - 1] == '/')
		around[--length] = '\0';
	char *slash = strrchr(around, '/');

	if (slash)
		slash[slash == around ? 1 : 0] = '\0';
	bool here = stat(slash ? around : ".", &status) == 0 && status.st_dev == home->disk;

	free(around);
	return here;
}

/* The lock of whatever is in its place now, if that may be ours; else -1. */
static int lock_anew(const struct home *home)
{
	struct stat status;

	if (stat(home->path, &status) == 0)
		return take_lock(home->path, status.st_dev == home->disk ? O_CREAT : 0);
	if (errno != ENOENT || !is_removed(home) || !folder_make(home->path, 0750))
		return -1;
	return take_lock(home->path, O_CREAT);
}

enum home_news home_look(struct home *home)
{
	if (is_ours(home))
		return mend_parts(home) ? HOME_MENDED : HOME_SAME;
	int lock = lock_anew(home);

	if (lock < 0 && home->away)
		return HOME_SAME;
	if (home->lock >= 0)
		close(home->lock);
	home->lock = -1;
	if (lock < 0) {
		home->away = true;
		return HOME_GONE;
	}
	settle(home, lock);
	mend_parts(home);
	return HOME_BACK;
}
