/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What exactness and safety cost: processor time of 20 enclosures' ten days
 * of minutes through feed and archivist, against a bare librrd loop that
 * writes the same rows in calls of the same size, values by printf: in full
 * batches as a replay has them; and as a live watch has them, ten minutes a
 * call, kept in a file while they gather and brought to the disk when they
 * are written, as the bare loop does then too.
 * And what one reading costs in minutes.  Medians of three; 1 when the live
 * ratio is more than allowed.
 */
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <rrd.h>

#include "conf/memory.h"
#include "daemon/feed.h"
#include "tests/feed_pump.h"
#include "tests/rows.h"
#include "tests/small_conf.h"

enum {
	ENCLOSURES = 20,
	MINUTES = 10 * 1440,
	SERIES = 3,
	ROWS_A_FULL_CALL = 385, /* what a full batch holds of each of 20 files */
	ROWS_A_LIVE_CALL = 10,  /* what write_every gathers by default */
	LIVE_FIRST = 20,        /* minutes in which the files are made, which is left out ... */
	LIVE_MINUTES = 480,     /* ... of so many: every batch waits for the disk */
	TIMES = 3,
	ROW_TEXT = 600,
	WAITING_MOST = 4194304, /* bytes of backlog at which the source stops */
	READINGS = 4000000,
};

static const double allowed = 1.3;
static const int64_t midnight = 1767571200;
static const struct series all[SERIES] = { { WARM_SIDE, TEMPERATURE, false },
					   { COOL_SIDE, TEMPERATURE, false },
					   { COOL_SIDE, HUMIDITY, false } };

static struct minute_cell *cells; /* [minute][enclosure][series] */

static const struct minute_cell *cells_of(size_t minute, size_t enclosure)
{
	return &cells[(minute * ENCLOSURES + enclosure) * SERIES];
}

/* Most minutes of most series are known and in band, as in life. */
static void make_cells(void)
{
	cells = must_calloc((size_t)MINUTES * ENCLOSURES * SERIES, sizeof *cells);
	for (size_t i = 0; i < (size_t)MINUTES * ENCLOSURES * SERIES; i++) {
		cells[i] =
			made_up_cell(midnight + 60 * (int64_t)(i / SERIES), (unsigned)(i % SERIES));
		if (i % 5) {
			cells[i].ok = 1;
			cells[i].low = cells[i].high = cells[i].out = 0;
			cells[i].value = 25 + (double)(i % 997) / 123;
		}
	}
}

/* So many minutes, so many of them a call, each brought to the disk or not. */
struct load {
	size_t minutes, rows_a_call;
	bool synced;
};

typedef void load_run(const char *folder, const struct load *load);

static double cpu_of(const struct rusage *usage)
{
	return (double)(usage->ru_utime.tv_sec + usage->ru_stime.tv_sec) +
	       1e-6 * (double)(usage->ru_utime.tv_usec + usage->ru_stime.tv_usec);
}

/* Runs it in a process of its own; its processor time, its children's too. */
static double cost(load_run *run, const struct load *load)
{
	char folder[] = "/tmp/bench-archive-XXXXXX";
	char *command = must_print("rm -r %s", mkdtemp(folder));
	struct rusage usage;
	int status;
	pid_t pid = fork();

	if (pid == 0) {
		run(folder, load);
		_exit(0);
	}
	if (wait4(pid, &status, 0, &usage) != pid || status != 0) {
		fprintf(stderr, "the run has failed\n");
		exit(1);
	}
	if (system(command) != 0)
		exit(1);
	free(command);
	return cpu_of(&usage);
}

static void bare_create(const char *path)
{
	char texts[SERIES * COLUMNS][64];
	const char *arguments[SERIES * COLUMNS + 7] = {
		"RRA:AVERAGE:0.99:1:14400",  "RRA:AVERAGE:0.99:10:12960",
		"RRA:AVERAGE:0.99:60:26280", "RRA:MIN:0.99:10:12960",
		"RRA:MIN:0.99:60:26280",     "RRA:MAX:0.99:10:12960",
		"RRA:MAX:0.99:60:26280",
	};

	for (int i = 0; i < SERIES * COLUMNS; i++) {
		char name[DS_NAME];

		snprintf(texts[i], sizeof texts[i], "DS:%s:GAUGE:1000000000:U:U",
			 ds_name(all[i / COLUMNS], (enum column)(i % COLUMNS), name));
		arguments[7 + i] = texts[i];
	}
	if (rrd_create_r(path, 60, midnight, SERIES * COLUMNS + 7, arguments) < 0)
		_exit(1);
}

static void bare_row(char text[ROW_TEXT], size_t minute, size_t enclosure)
{
	const struct minute_cell *cell = cells_of(minute, enclosure);
	int used = snprintf(text, ROW_TEXT, "%lld",
			    (long long)midnight + 60 * (long long)(minute + 1));

	for (int i = 0; i < SERIES; i++, cell++) {
		size_t room = ROW_TEXT - (size_t)used;

		if (cell->ok > 0)
			used += snprintf(text + used, room, ":%.12g:%.12g:%.12g:%.12g:%.12g",
					 cell->value, cell->low, cell->high, cell->ok, cell->out);
		else
			used += snprintf(text + used, room, ":U:%.12g:%.12g:%.12g:%.12g",
					 cell->low, cell->high, cell->ok, cell->out);
	}
}

static void sync_file(const char *path)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC);

	if (fd < 0 || fdatasync(fd) != 0)
		_exit(1);
	close(fd);
}

static void bare(const char *folder, const struct load *load)
{
	static char texts[ROWS_A_FULL_CALL][ROW_TEXT];
	const char *rows[ROWS_A_FULL_CALL];
	char *paths[ENCLOSURES];

	for (size_t i = 0; i < ENCLOSURES; i++) {
		paths[i] = must_print("%s/bare%zu.rrd", folder, i);
		bare_create(paths[i]);
	}
	for (size_t from = 0; from < load->minutes; from += load->rows_a_call)
		for (size_t i = 0; i < ENCLOSURES; i++) {
			int count = 0;

			for (; count < (int)load->rows_a_call && from + (size_t)count < load->minutes; count++) {
				bare_row(texts[count], from + (size_t)count, i);
				rows[count] = texts[count];
			}
			if (rrd_update_r(paths[i], NULL, count, rows) < 0)
				_exit(1);
			if (load->synced)
				sync_file(paths[i]);
		}
}

static void nothing(void *context)
{
	(void)context;
}

static void ended(void *context, const char *why)
{
	(void)context;
	fprintf(stderr, "%s\n", why);
	_exit(1);
}

static void damaged(void *context, size_t enclosure, const char *path)
{
	(void)enclosure;
	ended(context, path);
}

static bool has_room(void *feed)
{
	return feed_backlog(feed) < WAITING_MOST;
}

static void through_feed(const char *folder, const struct load *load)
{
	struct conf *conf = small_conf(folder, ENCLOSURES, 10);
	struct feed *feed =
		feed_new(conf, &(struct feed_callbacks){ NULL, damaged, ended, nothing });
	struct closed_minute minute = { .count = SERIES };

	for (size_t i = 0; i < load->minutes; i++) {
		for (size_t j = 0; j < ENCLOSURES; j++) {
			minute.end = midnight + 60 * (int64_t)(i + 1);
			memcpy(minute.cells, cells_of(i, j), SERIES * sizeof *minute.cells);
			feed_add(feed, j, &minute);
		}
		pump(feed, 1, 0);
		if (!pump_until(feed, 1, 600, has_room, feed))
			_exit(1);
	}
	feed_close(feed);
	if (!pump_until(feed, 1, 600, pump_closed, feed))
		_exit(1);
	feed_free(feed);
	small_conf_free(conf);
}

/* With a clock of our own: all is sent when ten minutes have gathered. */
static void through_gathering(const char *folder, const struct load *load)
{
	struct conf *conf = small_conf(folder, ENCLOSURES, 10);
	double now = 1;

	conf->archive.write_every = (double)load->rows_a_call * 60;
	struct feed *feed =
		feed_new(conf, &(struct feed_callbacks){ NULL, damaged, ended, nothing });
	struct closed_minute minute = { .count = SERIES };
	char *path = must_print("%s/gathered", folder);

	feed_gather(feed, path);
	while (!pump_hello(feed)) {
		feed_step(feed, now);
		pump_at(feed, now, 10);
	}
	for (size_t i = 0; i < load->minutes; i++) {
		for (size_t j = 0; j < ENCLOSURES; j++) {
			minute.end = midnight + 60 * (int64_t)(i + 1);
			memcpy(minute.cells, cells_of(i, j), SERIES * sizeof *minute.cells);
			feed_add(feed, j, &minute);
		}
		feed_step(feed, now);
		if (i % load->rows_a_call != load->rows_a_call - 1)
			continue;
		now += conf->archive.write_every; /* whatever gathers is due */
		while (feed_backlog(feed)) {
			feed_step(feed, now);
			pump_at(feed, now, 10);
		}
	}
	feed_close(feed);
	while (!feed_closed(feed)) {
		feed_step(feed, now);
		pump_at(feed, now, 10);
	}
	feed_free(feed);
	free(path);
	small_conf_free(conf);
}

static void count_minute(void *context, const struct closed_minute *minute)
{
	(void)minute;
	++*(size_t *)context;
}

/* Two probes every 10 s, as fast as they can be taken. */
static void take_readings(const char *folder, const struct load *load)
{
	(void)load;
	struct conf *conf = small_conf(folder, 1, 10);
	struct minutes *minutes = minutes_new(conf, &conf->enclosures[0]);
	size_t closed = 0;

	for (size_t i = 0; i < READINGS; i++) {
		double time =
			(double)midnight + 10.0 * (double)(i / SERIES) + 3.3 * (double)(i % SERIES);

		minutes_take(minutes, i % SERIES, time, 26 + (double)(i % 97) / 20);
		minutes_close(minutes, time, count_minute, &closed);
	}
	minutes_free(minutes);
	small_conf_free(conf);
}

static int ascending(const void *a, const void *b)
{
	double one = *(const double *)a, other = *(const double *)b;

	return (one > other) - (one < other);
}

/* The median ratio of a run through the feed to the bare loop; of each the cost of
 * the minutes that come after the first ones. */
static double compare(const char *what, load_run *run, struct load load, size_t first)
{
	double rows = (double)(load.minutes - first) * ENCLOSURES, ratios[TIMES];
	const struct load begin = { first, load.rows_a_call, load.synced };

	for (int i = 0; i < TIMES; i++) {
		double plain = cost(bare, &load), fed = cost(run, &load);

		if (first) {
			plain -= cost(bare, &begin);
			fed -= cost(run, &begin);
		}
		ratios[i] = fed / plain;
		fprintf(stderr, "%s: librrd alone %.2f us a row, feed and archivist %.2f us: %.3f\n",
			what, plain / rows * 1e6, fed / rows * 1e6, ratios[i]);
	}
	qsort(ratios, TIMES, sizeof *ratios, ascending);
	return ratios[TIMES / 2];
}

int main(void)
{
	make_cells();
	double reading = cost(take_readings, NULL);
	double full = compare("full batches", through_feed,
			      (struct load){ MINUTES, ROWS_A_FULL_CALL, false }, 0);
	double live = compare("live", through_gathering,
			      (struct load){ LIVE_MINUTES, ROWS_A_LIVE_CALL, true },
			      LIVE_FIRST);

	printf("a reading in minutes: %.0f ns; CPU time of feed and archivist / of librrd alone: full "
	       "batches %.2f, live %.2f (allowed %.1f)\n",
	       reading / READINGS * 1e9, full, live, allowed);
	free(cells);
	return live > allowed;
}
