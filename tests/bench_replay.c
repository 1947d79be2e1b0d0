/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a replay of many enclosures costs, against a plain program that reads
 * the same recording (getline, strtod), prints the same rows (printf) and
 * hands them to librrd, into files of the same layout and as many minutes at
 * a call as the archivist had; and, told beside it, against librrd alone with
 * the texts made by our own row writer.  All in this run, in turn; CPU time
 * of all processes, user and system.
 *
 *     bench_replay [ENCLOSURES [DAYS]]
 *
 * The rows come out of a first replay into archives that are long enough to
 * hold them all; how many minutes a call has is counted in it by how often the
 * archivist opens the files: twice for each of a batch, to look and to write.
 */
#include <errno.h>
#include <math.h>
#include <poll.h>
#include <rrd.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/load.h"
#include "conf/memory.h"
#include "tests/bare_archive.h"

enum {
	PAIRS = 3,              /* timed, after one that is not */
	CALLS = 8,              /* of each file that are fetched before the clock runs on */
	COMPARED_DAYS = 2,
	DAY = 86400,
	TEXT = 512,
};

static const double allowed = 1.2;

/* Everything the timed files need to keep is a few rows: the disk should not
 * be what is measured. */
#define SHORT_ROWS "archive { minutes = \"2d\"  ten_minutes = \"3d\"  hours = \"4d\" }"

static const struct archive_rows short_rows = { 2 * DAY, 3 * DAY, 4 * DAY, 0 };

/* An enclosure: where its rows come from, and the file they go to. */
struct file {
	const char *name;
	char *rows_path;
	struct bare bare;
	struct minute_cell *cells;      /* CALLS calls' worth of minutes */
	size_t minutes;                 /* that are fetched */
};

struct bench {
	char folder[64], programs[256];
	unsigned enclosures, days;
	unsigned long readings, visits;
	struct conf *conf;
	struct file *files;
	size_t count, a_call;           /* a_call: minutes of one file */
	int64_t begin, end;             /* s since the epoch, of the rows */
};

static void fail(const char *what)
{
	fprintf(stderr, "bench_replay: %s: %s\n", what,
		rrd_test_error() ? rrd_get_error() : strerror(errno));
	exit(1);
}

static void shell(const char *command)
{
	if (system(command) != 0)
		fail(command);
}

/* ---- the recording and its two configurations ----------------------------- */

static void furnish(struct bench *b)
{
	char *command = must_print(
		"cd '%s' && room='%s/roomsim' && common='--enclosures %u --every 60' && "
		"$room record $common --calm --days %u > rows.csv && "
		"$room conf $common --rack /dev/null --board /dev/zero --state '%s/state' > room.conf && "
		"{ cat room.conf; echo 'archive { minutes = \"%ud\"  ten_minutes = \"%ud\"  "
		"hours = \"%ud\" }'; } > long.conf && "
		"{ cat room.conf; echo '" SHORT_ROWS "'; } > short.conf && "
		"mkdir -p long/archive",
		b->folder, b->programs, b->enclosures, b->days, b->folder, b->days + 1, b->days + 2,
		b->days + 3);

	shell(command);
	free(command);
}

/* Starts a replay with the configuration `which`.conf into its own folder. */
static pid_t start_replay(const struct bench *b, const char *which)
{
	char program[TEXT], conf[TEXT], into[TEXT], rows[TEXT];
	pid_t pid;

	snprintf(program, sizeof program, "%s/warmsided", b->programs);
	snprintf(conf, sizeof conf, "%s/%s.conf", b->folder, which);
	snprintf(into, sizeof into, "%s/%s", b->folder, which);
	snprintf(rows, sizeof rows, "%s/rows.csv", b->folder);
	pid = fork();
	if (pid == 0) {
		if (!freopen("/dev/null", "w", stdout))
			_exit(126);
		execl(program, program, "-c", conf, "--replay", rows, "--into", into, (char *)NULL);
		_exit(127);
	}
	if (pid < 0)
		fail("fork");
	return pid;
}

static double seconds_of(const struct rusage *use)
{
	return (double)(use->ru_utime.tv_sec + use->ru_stime.tv_sec) +
	       1e-6 * (double)(use->ru_utime.tv_usec + use->ru_stime.tv_usec);
}

/* CPU seconds of the replay and of its archivist, which it has reaped. */
static double time_replay(const struct bench *b)
{
	struct rusage use;
	char command[TEXT];
	int status;

	snprintf(command, sizeof command, "rm -rf '%s/short'", b->folder);
	shell(command);
	if (wait4(start_replay(b, "short"), &status, 0, &use) < 0 || status != 0)
		fail("the replay failed");
	return seconds_of(&use);
}

/* Counts how often a file is closed that was open for writing. */
static void count_visits(struct bench *b, int watch)
{
	char buf[65536] __attribute__((aligned(8)));
	ssize_t got = read(watch, buf, sizeof buf);

	for (ssize_t at = 0; at < got;) {
		const struct inotify_event *event = (const void *)(buf + at);

		if (event->mask & IN_Q_OVERFLOW)
			fail("more visits than could be counted");
		if (event->len && strstr(event->name, ".rrd"))
			b->visits++;
		at += (ssize_t)(sizeof *event + event->len);
	}
}

static void replay_counting(struct bench *b)
{
	char archive[TEXT];
	int watch = inotify_init1(IN_NONBLOCK | IN_CLOEXEC), status;
	struct pollfd ready = { .fd = watch, .events = POLLIN };

	snprintf(archive, sizeof archive, "%s/long/archive", b->folder);
	if (watch < 0 || inotify_add_watch(watch, archive, IN_CLOSE_WRITE) < 0)
		fail("inotify");
	pid_t pid = start_replay(b, "long"), over;

	do {
		over = waitpid(pid, &status, WNOHANG);
		while (poll(&ready, 1, over ? 0 : 100) > 0)
			count_visits(b, watch);
	} while (over == 0);
	close(watch);
	if (over < 0 || status != 0)
		fail("the first replay failed");
}

/* ---- the rows -------------------------------------------------------------- */

static double *fetch(const char *path, unsigned long step, int64_t from, int64_t until,
		     size_t *rows, size_t *columns)
{
	double *means = archive_means(path, step, from, until, rows, columns);

	if (!means)
		fail(path);
	return means;
}

static void open_file(struct bench *b, struct file *file, const struct enclosure *enclosure)
{
	file->name = enclosure->name;
	file->rows_path = must_print("%s/long/archive/%s.rrd", b->folder, file->name);
	bare_init(&file->bare, must_print("%s/bare/%s.rrd", b->folder, file->name), b->conf,
		  enclosure);
	int64_t last = (int64_t)rrd_last_r(file->rows_path);

	if (last < 0)
		fail(file->rows_path);
	if (last > b->end)
		b->end = last;
}

static void open_files(struct bench *b)
{
	char path[TEXT];
	struct faults faults = { 0 };
	FILE *rows;
	double first;
	int c;

	snprintf(path, sizeof path, "%s/long.conf", b->folder);
	b->conf = conf_load(path, &faults);
	if (!b->conf)
		fail(faults.count ? faults.list[0].text : path);
	b->count = b->conf->enclosure_count;
	b->files = must_calloc(b->count, sizeof *b->files);
	for (size_t i = 0; i < b->count; i++)
		open_file(b, &b->files[i], &b->conf->enclosures[i]);
	snprintf(path, sizeof path, "%s/rows.csv", b->folder);
	rows = fopen(path, "re");
	if (!rows || fscanf(rows, "%*[^\n] %lf", &first) != 1)
		fail(path);
	while ((c = getc(rows)) != EOF)
		b->readings += c == '\n';
	fclose(rows);
	b->begin = (int64_t)first - (int64_t)first % ROW_HOUR;

	/* What came in one batch is cut into as few calls as hold it. */
	double minutes = (double)(b->end - b->begin) / ARCHIVE_STEP;
	double batch = minutes / fmax((double)b->visits / 2 / (double)b->count, 1);

	b->a_call = (size_t)fmax(round(batch / ceil(batch / BARE_MOST)), 1);
	for (size_t i = 0; i < b->count; i++)
		b->files[i].cells = must_calloc(b->a_call * CALLS * b->files[i].bare.series_count,
						sizeof *b->files[i].cells);
}

/* The next CALLS calls' worth. */
static void fetch_minutes(const struct bench *b, struct file *file, int64_t from)
{
	int64_t until = from + (int64_t)b->a_call * CALLS * ARCHIVE_STEP;
	size_t columns;
	double *rows = fetch(file->rows_path, ROW_MINUTE, from, until < b->end ? until : b->end,
			     &file->minutes, &columns);

	if (columns != file->bare.series_count * COLUMNS)
		fail("an archive has other series than the configuration");
	for (size_t i = 0; i < file->minutes * file->bare.series_count; i++) {
		const double *cell = rows + i * COLUMNS;

		file->cells[i] = (struct minute_cell){
			cell[COLUMN_VALUE], cell[COLUMN_LOW], cell[COLUMN_HIGH],
			cell[COLUMN_OK], cell[COLUMN_OUT],
		};
	}
	free(rows);
}

/* ---- the bare loop ---------------------------------------------------------- */

/* One call: the minutes from the one numbered `from` of those fetched. */
static void write_call(const struct bench *b, struct file *file, int64_t begin, size_t from)
{
	size_t left = file->minutes > from ? file->minutes - from : 0;

	if (!bare_write(&file->bare, begin + (int64_t)from * ARCHIVE_STEP,
			file->cells + from * file->bare.series_count,
			left < b->a_call ? left : b->a_call))
		fail(file->name);
}

static double cpu_now(void)
{
	struct timespec t;

	clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
	return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* CPU seconds of taking the recording apart, as a plain program would. */
static double time_reading(const struct bench *b)
{
	char path[TEXT], *line = NULL;
	size_t room = 0;
	double begun = cpu_now(), sum = 0;

	snprintf(path, sizeof path, "%s/rows.csv", b->folder);
	FILE *rows = fopen(path, "re");

	if (!rows)
		fail(path);
	while (getline(&line, &room, rows) > 0)
		for (char *at = line; at; at = strchr(at, ','), at += at != NULL)
			sum += strtod(at, NULL);
	fclose(rows);
	free(line);
	if (!(sum > 0)) /* and so it is not left out */
		fail(path);
	return cpu_now() - begun;
}

/* CPU seconds of making the files and of all rows; not of fetching them. */
static double time_bare(struct bench *b, bool printed)
{
	int64_t slice = (int64_t)b->a_call * CALLS * ARCHIVE_STEP;
	double begun, spent = 0;
	char command[TEXT];

	snprintf(command, sizeof command, "cd '%s' && rm -rf bare && mkdir bare", b->folder);
	shell(command);
	begun = cpu_now();
	for (size_t i = 0; i < b->count; i++) {
		b->files[i].bare.printed = printed;
		if (!bare_create(&b->files[i].bare, &short_rows, b->begin))
			fail(b->files[i].name);
	}
	spent += cpu_now() - begun;
	for (int64_t at = b->begin; at < b->end; at += slice) {
		for (size_t i = 0; i < b->count; i++)
			fetch_minutes(b, &b->files[i], at);
		begun = cpu_now();
		for (size_t from = 0; from < b->a_call * CALLS; from += b->a_call)
			for (size_t i = 0; i < b->count; i++)
				write_call(b, &b->files[i], at, from);
		spent += cpu_now() - begun;
	}
	return spent;
}

/* ---- the comparison ---------------------------------------------------------- */

/* Both sides must have written the same: their hours are compared. */
static void compare(const struct bench *b)
{
	int64_t until = b->end - b->end % ROW_HOUR, from = until - COMPARED_DAYS * DAY;

	if (from < b->begin)
		from = b->begin;
	for (size_t i = 0; i < b->count; i++) {
		char *replayed = must_print("%s/short/archive/%s.rrd", b->folder,
					    b->files[i].name);
		size_t rows, columns, wide;
		double *a = fetch(replayed, ROW_HOUR, from, until, &rows, &columns);
		double *bare = fetch(b->files[i].bare.path, ROW_HOUR, from, until, &rows, &wide);

		for (size_t k = 0; k < rows * columns; k++)
			if (columns != wide || isnan(a[k]) != isnan(bare[k]) ||
			    fabs(a[k] - bare[k]) > 1e-9) {
				fprintf(stderr, "bench_replay: %s: the two wrote other rows\n",
					b->files[i].name);
				exit(1);
			}
		free(a);
		free(bare);
		free(replayed);
	}
}

static int ascending(const void *a, const void *b)
{
	double one = *(const double *)a, other = *(const double *)b;

	return (one > other) - (one < other);
}

static void close_all(struct bench *b)
{
	char command[TEXT];

	for (size_t i = 0; i < b->count; i++) {
		free(b->files[i].rows_path);
		bare_free(&b->files[i].bare);
		free(b->files[i].cells);
	}
	free(b->files);
	conf_free(b->conf);
	snprintf(command, sizeof command, "rm -rf '%s'", b->folder);
	shell(command);
}

int main(int argc, char **argv)
{
	struct bench b = { .enclosures = argc > 1 ? (unsigned)strtoul(argv[1], NULL, 10) : 100,
			   .days = argc > 2 ? (unsigned)strtoul(argv[2], NULL, 10) : 30 };
	const char *temporary = getenv("TMPDIR"), *built = getenv("top_builddir");
	double plain_ratios[PAIRS], bare_ratios[PAIRS];

	snprintf(b.folder, sizeof b.folder, "%s/warmside-bench.XXXXXX",
		 temporary ? temporary : "/tmp");
	if (!realpath(built ? built : ".", b.programs) || !mkdtemp(b.folder))
		fail(b.folder);
	furnish(&b);
	replay_counting(&b);
	open_files(&b);
	for (int i = 0; i <= PAIRS; i++) {
		double replay = time_replay(&b);
		double plain = time_reading(&b) + time_bare(&b, true);
		double bare = time_bare(&b, false);

		fprintf(stderr, "%s: replay %.2f s, a plain program %.2f s, librrd alone %.2f s of CPU\n",
			i ? "run" : "warm-up", replay, plain, bare);
		if (i) {
			plain_ratios[i - 1] = replay / plain;
			bare_ratios[i - 1] = replay / bare;
		}
	}
	compare(&b);
	qsort(plain_ratios, PAIRS, sizeof *plain_ratios, ascending);
	qsort(bare_ratios, PAIRS, sizeof *bare_ratios, ascending);
	printf("%u enclosures and the room x %u days: %lu readings, %zu minutes a call: CPU time of "
	       "the replay / of a plain program: median %.3f of %d (%.3f..%.3f; allowed %.1f); / of "
	       "librrd alone: %.3f (%.3f..%.3f)\n",
	       b.enclosures, b.days, b.readings, b.a_call, plain_ratios[PAIRS / 2], PAIRS,
	       plain_ratios[0], plain_ratios[PAIRS - 1], allowed, bare_ratios[PAIRS / 2],
	       bare_ratios[0], bare_ratios[PAIRS - 1]);
	close_all(&b);
	return plain_ratios[PAIRS / 2] <= allowed ? 0 : 1;
}
