/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Requests of the keeper as files; see asking.h.  Everybody of the folder's
 * group can put anything there, so nothing found is trusted: only plain files
 * with a request's name are opened, and little of them is read.
 *
 *   {"ask": "shelve", "enclosure": "T3", "seconds": 7200, "by": "anna", "note": "",
 *    "time": 1767600000.25}
 */
#include "conf/asking.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <pwd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <jansson.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/utf8.h"

#define ENDING ".ask"

enum {
	REQUEST_BYTES = 4096,
	STEM_SIZE = 64,         /* of a name without its ending */
	TRIES_MOST = 16,        /* files that cannot be taken away, at one call */
};

static const char *const kinds[ASKED_KINDS] = {
	[ASKED_ACK] = "ack", [ASKED_SHELVE] = "shelve", [ASKED_TEST] = "test",
};

/* ---- texts ----------------------------------------------------------------- */

static char *to_text(const struct asking *asking, const struct timespec *now)
{
	json_t *object = json_pack("{s:s,s:s,s:f,s:s,s:s,s:f}", "ask", kinds[asking->what],
				   "enclosure", asking->enclosure, "seconds", asking->seconds,
				   "by", asking->by, "note", asking->note, "time",
				   (double)now->tv_sec + (double)now->tv_nsec / 1e9);
	char *text = object ? json_dumps(object, JSON_REAL_PRECISION(15)) : NULL;

	json_decref(object);
	return text;
}

static bool take_text(const json_t *object, const char *key, char *field, size_t size)
{
	const json_t *member = json_object_get(object, key);
	const char *text = json_string_value(member);

	if (!text || json_string_length(member) >= size || !utf8_is_line(text, size))
		return false;
	memcpy(field, text, strlen(text) + 1);
	return true;
}

static bool from_text(const char *text, size_t size, struct asking *out)
{
	json_t *object = json_loadb(text, size, JSON_REJECT_DUPLICATES, NULL);
	const char *ask = json_string_value(json_object_get(object, "ask"));
	const json_t *seconds = json_object_get(object, "seconds");
	const json_t *time = json_object_get(object, "time");
	struct asking asking = { .what = ASKED_KINDS, .time = json_number_value(time),
				 .seconds = json_number_value(seconds) };

	for (int kind = 0; ask && kind < ASKED_KINDS; kind++)
		if (strcmp(ask, kinds[kind]) == 0)
			asking.what = (enum asked)kind;

	bool good = asking.what != ASKED_KINDS && json_is_number(time) &&
		    is_instant(asking.time) && json_is_number(seconds) &&
		    asking.seconds >= 0 && asking.seconds <= SHELVE_MOST &&
		    take_text(object, "enclosure", asking.enclosure, sizeof asking.enclosure) &&
		    take_text(object, "by", asking.by, sizeof asking.by) &&
		    take_text(object, "note", asking.note, sizeof asking.note);

	json_decref(object);
	if (good)
		*out = asking;
	return good;
}

/* ---- leaving --------------------------------------------------------------- */

static bool write_whole(int fd, const char *text)
{
	size_t size = strlen(text);
	ssize_t done = write(fd, text, size);

	if (done >= 0 && done < (ssize_t)size)
		errno = ENOSPC;
	return done == (ssize_t)size;
}

/* The folder's group reads it; where that is not ours to give, everybody who
 * may enter the folder. */
static bool hand_over(int folder, int fd)
{
	struct stat status;
	bool given = fstat(folder, &status) == 0 &&
		     fchown(fd, (uid_t)-1, status.st_gid) == 0;

	return fchmod(fd, given ? 0640 : 0644) == 0;
}

static bool write_in(int folder, const char *text, const struct timespec *now)
{
	char name[STEM_SIZE + sizeof ENDING], beside[STEM_SIZE];

	snprintf(beside, sizeof beside, "%012lld-%09ld-%ld", (long long)now->tv_sec, now->tv_nsec,
		 (long)getpid());
	snprintf(name, sizeof name, "%s" ENDING, beside);

	int fd = openat(folder, beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW,
			0600);

	if (fd < 0)
		return false;
	bool good = write_whole(fd, text) && hand_over(folder, fd) &&
		    renameat(folder, beside, folder, name) == 0;
	int error = errno;

	close(fd);
	if (!good)
		unlinkat(folder, beside, 0);
	errno = error;
	return good;
}

bool asking_leave(const char *folder, const struct asking *asking)
{
	struct timespec now;
	struct asking back;

	clock_gettime(CLOCK_REALTIME, &now);

	char *text = to_text(asking, &now);
	int at = -1, error = EINVAL;
	bool good = false;

	if (text && strlen(text) <= REQUEST_BYTES && from_text(text, strlen(text), &back)) {
		at = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
		good = at >= 0 && write_in(at, text, &now);
		error = errno;
	}
	if (at >= 0)
		close(at);
	free(text);
	errno = error;
	return good;
}

/* ---- taking ---------------------------------------------------------------- */

/* Digits and "-", as write_in makes them, and the ending. */
static bool is_request_name(const char *name)
{
	size_t stem = strspn(name, "0123456789-");

	return stem > 0 && stem < STEM_SIZE && strcmp(name + stem, ENDING) == 0;
}

/* The first request's name behind `after` in the order of names.  Folders are
 * none, whatever their name: whoever makes thousands stops nothing. */
static bool next_name(DIR *dir, const char *after, char name[STEM_SIZE + sizeof ENDING])
{
	const struct dirent *entry;
	bool found = false;

	rewinddir(dir);
	while ((entry = readdir(dir))) {
		if (entry->d_type == DT_DIR || !is_request_name(entry->d_name) || strcmp(entry->d_name, after) <= 0 ||
		    (found && strcmp(entry->d_name, name) >= 0))
			continue;
		memcpy(name, entry->d_name, strlen(entry->d_name) + 1);
		found = true;
	}
	return found;
}

/* What is wrong with the file, as the end of a sentence, or NULL: *asking is
 * what it asks. */
static const char *read_request(int folder, const char *name, struct asking *asking)
{
	char text[REQUEST_BYTES + 1];
	struct stat status;
	/* A pipe without a writer must not hold up the watch. */
	int fd = openat(folder, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
	const char *wrong = NULL;

	if (fd < 0)
		return errno == ELOOP ? "is a link" : strerror(errno);
	if (fstat(fd, &status) != 0 || !S_ISREG(status.st_mode)) {
		wrong = "is no plain file";
	} else {
		ssize_t size = read(fd, text, sizeof text);

		if (size < 0)
			wrong = strerror(errno);
		else if (size > REQUEST_BYTES)
			wrong = "is too long for a request";
		else if (!from_text(text, (size_t)size, asking))
			wrong = "holds no request";
	}
	close(fd);
	return wrong;
}

/* True when the file is out of the folder: what stays must not be acted on, or
 * it would be for ever. */
static bool take_away(int folder, const char *name)
{
	return unlinkat(folder, name, 0) == 0;
}

bool asking_take(const char *folder, struct asking *asking, char **fault)
{
	DIR *dir = opendir(folder);
	char name[STEM_SIZE + sizeof ENDING] = "", after[sizeof name] = "";
	bool taken = false;

	*fault = NULL;
	for (int tries = 0; dir && !taken && tries < TRIES_MOST && next_name(dir, after, name);
	     tries++) {
		const char *wrong = read_request(dirfd(dir), name, asking);

		memcpy(after, name, sizeof after);
		taken = take_away(dirfd(dir), name);
		if (taken && wrong)
			*fault = must_print("%s/%s %s", folder, name, wrong);
	}
	if (dir)
		closedir(dir);
	return taken;
}

/* ---- who ------------------------------------------------------------------- */

char *asking_login(char by[BY_SIZE])
{
	const struct passwd *user;

	if (getlogin_r(by, BY_SIZE) == 0 && utf8_is_line(by, BY_SIZE))
		return by;
	user = getpwuid(getuid());
	if (user && strlen(user->pw_name) < BY_SIZE && utf8_is_line(user->pw_name, BY_SIZE))
		snprintf(by, BY_SIZE, "%s", user->pw_name);
	else
		snprintf(by, BY_SIZE, "user %ld", (long)getuid());
	return by;
}
