/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Calls of librrd; see archive_rrd.h.
 */
#include "daemon/archive_rrd.h"

#include <errno.h>
#include <rrd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/files.h"

enum {
	LOCK_PAUSE_MS = 20,
	LOCK_PATIENCE_MS = 10000,
};

static char *folder_of(const char *path)
{
	const char *slash = strrchr(path, '/');

	return slash ? must_print("%.*s", (int)(slash - path), path) : must_copy(".");
}

void archive_rrd_explain(const struct rrd_call *call)
{
	char *folder = folder_of(call->path);
	struct statvfs disk;

	if (statvfs(folder, &disk) == 0)
		snprintf(call->why, ARCHIVE_TEXT,
			 "librrd has not written it and gives no reason; %llu kB are free",
			 (unsigned long long)disk.f_bavail * disk.f_frsize / 1024);
	else
		snprintf(call->why, ARCHIVE_TEXT, "%s", strerror(errno));
	free(folder);
}

/* What librrd says and what the system says, in one sentence. */
static void explain(const struct rrd_call *call)
{
	int error = errno;

	if (!rrd_test_error() || !*rrd_get_error())
		archive_rrd_explain(call);
	else if (error)
		snprintf(call->why, ARCHIVE_TEXT, "%s: %s", rrd_get_error(), strerror(error));
	else
		snprintf(call->why, ARCHIVE_TEXT, "%s", rrd_get_error());
}

/* Runs the call, again and again while a reader has the file locked. */
static bool try(const struct rrd_call *call, int (*run)(const struct rrd_call *call))
{
	const struct timespec pause = { .tv_nsec = LOCK_PAUSE_MS * 1000000L };

	for (int waited = 0;; waited += LOCK_PAUSE_MS) {
		rrd_clear_error(); /* one left from before would make it fail */
		errno = 0;
		if (run(call) == 0)
			return true;
		explain(call);
		bool locked = rrd_test_error() && strstr(rrd_get_error(), "could not lock");

		rrd_clear_error();
		if (!locked || waited >= LOCK_PATIENCE_MS)
			return false;
		nanosleep(&pause, NULL);
	}
}

static void sync_new_file(const char *path)
{
	char *folder = folder_of(path);

	path_sync_new(path);
	path_sync(folder);
	free(folder);
}

static int run_create(const struct rrd_call *call)
{
	return rrd_create_r2(call->path, ARCHIVE_STEP, call->start, 1, NULL, NULL, call->count,
			     call->arguments);
}

bool archive_rrd_create(const struct rrd_call *call)
{
	if (!try(call, run_create))
		return false;
	/* librrd lets everybody read it, whatever the umask says. */
	chmod(call->path, 0640);
	sync_new_file(call->path);
	return true;
}

static int run_update(const struct rrd_call *call)
{
	return rrd_updatex_r(call->path, NULL, RRD_SKIP_PAST_UPDATES, call->count, call->arguments);
}

bool archive_rrd_update(const struct rrd_call *call)
{
	return try(call, run_update);
}

static int run_widen(const struct rrd_call *call)
{
	int count = call->count + 2;
	const char **arguments = must_calloc((size_t)count, sizeof *arguments);

	arguments[0] = "tune";
	arguments[1] = call->path;
	memcpy(arguments + 2, call->arguments, (size_t)call->count * sizeof *arguments);
	int result = rrd_tune(count, (char **)arguments);

	free(arguments);
	return result;
}

bool archive_rrd_widen(const struct rrd_call *call)
{
	if (!try(call, run_widen))
		return false;
	/* librrd lets everybody read it, whatever the umask says. */
	chmod(call->path, 0640);
	sync_new_file(call->path);
	return true;
}
