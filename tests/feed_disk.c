/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A full disk: nothing dies, archives that are there are written on, somebody is told
 * where that is not so, and when there is room again every minute is archived.  On a small tmpfs of its own; skipped where such
 * a thing may not be mounted.
 */
#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <sched.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/feed.h"
#include "tests/feed_pump.h"
#include "tests/rows.h"
#include "tests/small_conf.h"

enum { SKIP = 77, SERIES_OF_ALL = 3, HOLE_AT = 65536 };

static const double speed = 20;    /* pauses pass so much faster */
static const double PATIENCE = 30; /* s */
static const int64_t midnight = 1767571200;

static struct {
	int failing, working;
	char why[300];
} told;

static void damaged(void *context, size_t enclosure, const char *path)
{
	(void)context;
	fprintf(stderr, "E%zu was set aside as %s\n", enclosure + 1, path);
	exit(1);
}

static void failing(void *context, const char *why)
{
	(void)context;
	told.failing++;
	snprintf(told.why, sizeof told.why, "%s", why);
}

static void working(void *context)
{
	(void)context;
	told.working++;
}

static void expect(int true_here, const char *what)
{
	if (true_here)
		return;
	fprintf(stderr, "not so: %s\n", what);
	exit(1);
}

static void fill_disk(const char *filler)
{
	static const char zeros[4096];
	int fd = open(filler, O_WRONLY | O_CREAT | O_APPEND, 0644);

	while (write(fd, zeros, sizeof zeros) > 0)
		;
	expect(errno == ENOSPC, "the disk is full");
	close(fd);
}

static void add(struct feed *feed, size_t enclosure, int from, int to)
{
	for (int i = from; i < to; i++) {
		struct closed_minute minute = { .end = midnight + 60 * (i + 1),
						.count = SERIES_OF_ALL };

		for (unsigned j = 0; j < SERIES_OF_ALL; j++)
			minute.cells[j] = made_up_cell(minute.end, 4 * (unsigned)enclosure + j);
		feed_add(feed, enclosure, &minute);
	}
}

static void expect_minutes(const char *folder, unsigned enclosure, int from, int to)
{
	char *path = must_print("%s/archive/E%u.rrd", folder, enclosure + 1);
	struct rows rows;

	expect(rows_fetch(path, "AVERAGE", 60, midnight + 60 * from, midnight + 60 * to, &rows),
	       "there are rows");
	for (int i = from; i < to; i++) {
		int64_t end = midnight + 60 * (i + 1);
		struct minute_cell cell = made_up_cell(end, 4 * enclosure);

		expect(fabs(rows_at(&rows, "warm_t_ok", end) - cell.ok) < 1e-10, "rows are right");
	}
	rows_free(&rows);
	free(path);
}

static bool was_failing(void *context)
{
	(void)context;
	return told.failing;
}

/* While the disk is full; `what` is what could not be done. */
static void fails_and_recovers(struct feed *feed, const char *filler, const char *what)
{
	pid_t pid = feed_pid(feed);
	size_t waiting = feed_backlog(feed);

	memset(&told, 0, sizeof told);
	expect(pump_until(feed, speed, PATIENCE, was_failing, NULL), "somebody is told");
	printf("%s: %s\n", what, told.why);
	expect(feed_backlog(feed) == waiting, "the minutes are kept");
	expect(unlink(filler) == 0, "there is room again");
	expect(pump_until(feed, speed, PATIENCE, pump_empty, feed), "all is archived then");
	expect(told.failing == 1 && told.working == 1, "both ends are told once");
	expect(feed_pid(feed) == pid, "the archivist has not died");
}

/* What has its room is written on, and nobody is told. */
static void goes_on(struct feed *feed)
{
	memset(&told, 0, sizeof told);
	expect(pump_until(feed, speed, PATIENCE, pump_empty, feed), "archives that are there take it");
	expect(told.failing == 0, "nobody is told");
}

/* A copy that left out zeros, as backups make them: librrd's write into the
 * hole of a full disk would be the end of the archivist. */
static void punch(const char *path)
{
	struct stat file;
	int fd = open(path, O_RDWR);

	expect(fstat(fd, &file) == 0 && fallocate(fd, FALLOC_FL_PUNCH_HOLE | FALLOC_FL_KEEP_SIZE,
						  HOLE_AT, file.st_size - HOLE_AT) == 0,
	       "the file has a hole");
	close(fd);
}

static void run(const char *folder)
{
	struct conf *conf = small_conf(folder, 3, 10);
	char *filler = must_print("%s/filler", folder);
	char *first = must_print("%s/archive/E1.rrd", folder);
	struct feed *feed;

	conf->archive = (struct archive_rows){ 86400 * 5, 86400 * 5, 86400 * 5, 0 };
	feed = feed_new(conf, &(struct feed_callbacks){ NULL, damaged, failing, working });
	add(feed, 0, 0, 100);
	add(feed, 1, 0, 100);
	expect(pump_until(feed, speed, PATIENCE, pump_empty, feed), "all is archived");

	fill_disk(filler);
	add(feed, 0, 100, 200);
	add(feed, 1, 100, 200);
	goes_on(feed);
	expect(unlink(filler) == 0, "there is room again");
	expect_minutes(folder, 0, 0, 200);
	expect_minutes(folder, 1, 0, 200);

	fill_disk(filler);
	add(feed, 2, 0, 100);
	fails_and_recovers(feed, filler, "creating");
	expect_minutes(folder, 2, 0, 100);

	punch(first);
	fill_disk(filler);
	add(feed, 0, 200, 300);
	fails_and_recovers(feed, filler, "filling a hole");
	expect_minutes(folder, 0, 200, 300);

	feed_close(feed);
	expect(pump_until(feed, speed, PATIENCE, pump_closed, feed), "the feed is closed");
	expect(feed_dropped(feed) == 0, "nothing was dropped");
	feed_free(feed);
	small_conf_free(conf);
	free(filler);
	free(first);
}

int main(void)
{
	char folder[] = "/tmp/feed-disk-XXXXXX";

	if (unshare(CLONE_NEWNS) < 0 || mount("none", "/", NULL, MS_REC | MS_PRIVATE, NULL) < 0) {
		fprintf(stderr, "skipped: no mounts of our own here: %s\n", strerror(errno));
		return SKIP;
	}
	if (!mkdtemp(folder))
		return 1;
	if (mount("none", folder, "tmpfs", 0, "size=8m,mode=755") < 0) {
		fprintf(stderr, "skipped: no tmpfs here: %s\n", strerror(errno));
		rmdir(folder);
		return SKIP;
	}
	run(folder);
	umount(folder);
	return rmdir(folder) < 0;
}
