/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * feed_kill [KILLS [SEED]]: feeds known minutes through a real feed to a real
 * archivist that is killed again and again at random, a place being added on
 * the way; then no minute may be missing and no row wrong at any row size.
 */
#include <dirent.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/feed.h"
#include "tests/feed_pump.h"
#include "tests/rows.h"
#include "tests/small_conf.h"
#include "tests/undo_look.h"

enum {
	ENCLOSURES = 6,
	MOST = 100 * 1440, /* minutes kept of each */
	ENOUGH = 1500000,  /* bytes of backlog that keep the archivist busy */
	LIFE_US = 40000,   /* an archivist lives so long at most after its hello, */
	AMID_US = 5000,    /* or so long after a file is begun with; */
	LONG_LIFE = 2,     /* s, when none is */
	KILLS = 30,
};

/* Pauses pass so much faster. */
static const double speed = 2000;

static const int64_t midnight = 1767571200;

static struct {
	unsigned char there[MOST]; /* the minute was fed; index from midnight */
	size_t next;               /* minute */
	int64_t since;             /* end of the time in which cool_side did not count */
} fed[ENCLOSURES];

static bool widened; /* E2 has its cool side */
static unsigned troubles;

static double chance(void)
{
	return (double)rand() / RAND_MAX;
}

static void damaged(void *context, size_t enclosure, const char *path)
{
	(void)context;
	fprintf(stderr, "E%zu was set aside as %s\n", enclosure + 1, path);
	exit(1);
}

static void failing(void *context, const char *why)
{
	(void)context;
	(void)why;
	troubles++;
}

static void working(void *context)
{
	(void)context;
}

static size_t series_count(size_t enclosure)
{
	return enclosure != 1 || widened ? 3 : 1;
}

static void add_minute(struct feed *feed, size_t enclosure)
{
	struct closed_minute minute = { .count = series_count(enclosure) };
	size_t index = fed[enclosure].next++;
	double known = 0;

	minute.end = midnight + 60 * (int64_t)(index + 1);
	for (size_t i = 0; i < minute.count; i++) {
		minute.cells[i] = made_up_cell(minute.end, (unsigned)(4 * enclosure + i));
		known += minute.cells[i].ok;
	}
	if (known <= 0)
		return; /* as minutes_close does */
	fed[enclosure].there[index] = 1;
	feed_add(feed, enclosure, &minute);
}

/* Now and then a minute or a day is missing, but never the first: a file
 * begins with the hour of its first minute, and the truth with midnight. */
static void add_some(struct feed *feed, size_t most)
{
	for (size_t i = 0; i < ENCLOSURES; i++) {
		if (fed[i].next && chance() < 0.05)
			fed[i].next += (size_t)(chance() < 0.1 ? 1000 * chance() : 40 * chance());
		if (fed[i].next > MOST)
			fed[i].next = MOST;
		for (size_t n = (size_t)((double)most * chance()); n && fed[i].next < MOST; n--)
			add_minute(feed, i);
	}
}

/* Files in the folder that a kill may leave, and that a start must remove. */
static unsigned left_overs(const char *folder)
{
	DIR *dir = opendir(folder);
	const struct dirent *entry;
	unsigned count = 0;

	if (!dir)
		return 0;
	while ((entry = readdir(dir))) {
		const char *ending = strrchr(entry->d_name, '.');

		count += entry->d_name[0] != '.' && strcmp(ending, ".rrd") != 0;
	}
	closedir(dir);
	return count;
}

/* Whether it is at work on a file, or was when it was killed. */
static bool is_written(const char *folder)
{
	return undo_holds_heads(folder) || left_overs(folder) > 0;
}

static void kill_archivist(struct feed *feed)
{
	int status;

	if (feed_pid(feed) <= 0)
		return;
	kill(feed_pid(feed), SIGKILL);
	while (waitpid(feed_pid(feed), &status, 0) < 0)
		;
	feed_child_died(feed, status, pump_clock(speed));
}

/* Small batches or large ones, as they come; to be killed at a random moment,
 * or a little after a file is begun with (a loaded machine is slow to begin). */
static void one_life(struct feed *feed, const char *archive)
{
	bool amid = chance() < 0.5 && fed[0].next < MOST;
	bool busy = chance() < 0.7;

	while (!pump(feed, speed, 1))
		;
	double begun = pump_clock(1), end = begun + LIFE_US * 1e-6 * chance();

	while (pump_clock(1) < end || (amid && pump_clock(1) < begun + LONG_LIFE)) {
		if (!busy)
			add_some(feed, 2);
		while (busy && feed_backlog(feed) < ENOUGH && fed[0].next < MOST)
			add_some(feed, 400);
		pump(feed, speed, amid ? 0 : 1);
		if (amid && is_written(archive)) {
			end = pump_clock(1) + AMID_US * 1e-6 * chance();
			amid = false;
		}
	}
}

/* The end of the last minute that was fed. */
static int64_t last_end(size_t enclosure)
{
	size_t i = fed[enclosure].next;

	while (i && !fed[enclosure].there[i - 1])
		i--;
	return midnight + 60 * (int64_t)i;
}

static void add_a_place(struct feed *feed, struct conf *conf)
{
	int64_t last = last_end(1);

	fed[1].since = last + (3600 - last % 3600) % 3600;
	widened = true;
	conf->enclosures[1].places[COOL_SIDE].watched = true;
	feed_reload(feed, conf);
}

/* How many series its file has: a new place's wait for a minute of the next hour. */
static size_t series_there(size_t enclosure)
{
	return enclosure == 1 && last_end(1) <= fed[1].since ? 1 : series_count(enclosure);
}

/* ---- the truth ----------------------------------------------------------- */

static double mean(size_t enclosure, unsigned series, enum column column, int64_t end, int step)
{
	double sum = 0, n = 0;

	for (int64_t minute = end - step + 60; minute <= end; minute += 60) {
		struct minute_cell cell = { 0 };
		size_t index = (size_t)((minute - midnight) / 60 - 1);

		if (index < MOST && fed[enclosure].there[index] &&
		    (series == 0 || minute > fed[enclosure].since))
			cell = made_up_cell(minute, (unsigned)(4 * enclosure + series));
		double value = column_value(&cell, column);

		if (isnan(value))
			continue;
		sum += value;
		n++;
	}
	return n > 0 ? sum / n : (double)NAN;
}

static unsigned long check_column(const struct rows *rows, size_t enclosure, unsigned series,
				  enum column column, int64_t to)
{
	static const struct series all[] = { { WARM_SIDE, TEMPERATURE, false },
					     { COOL_SIDE, TEMPERATURE, false },
					     { COOL_SIDE, HUMIDITY, false } };
	unsigned long wrong = 0;
	char ds[DS_NAME];

	ds_name(all[series], column, ds);
	for (int64_t end = midnight + rows->step; end <= to; end += rows->step) {
		double is = rows_at(rows, ds, end);
		double should = mean(enclosure, series, column, end, (int)rows->step);

		if (isnan(is) && series && end <= fed[enclosure].since)
			is = should; /* before the place was added nothing is there */
		if ((isnan(is) && isnan(should)) || fabs(is - should) <= 1e-10)
			continue;
		if (!wrong++)
			fprintf(stderr, "E%zu %s, %lld s row ending %lld: %.12g, not %.12g\n",
				enclosure + 1, ds, (long long)rows->step, (long long)end, is,
				should);
	}
	return wrong;
}

static unsigned long check(const char *folder, size_t enclosure, unsigned long *checked)
{
	char *path = must_print("%s/archive/E%zu.rrd", folder, enclosure + 1);
	unsigned long wrong = 0;

	for (int size = 0; size < ROW_SIZES; size++) {
		int step = row_sizes[size];
		int64_t to = last_end(enclosure);
		struct rows rows;

		to -= to % step;
		if (!rows_fetch(path, "AVERAGE", step, midnight, to, &rows)) {
			fprintf(stderr, "%s: no rows of %d s\n", path, step);
			wrong++;
		} else {
			for (unsigned series = 0; series < series_there(enclosure); series++)
				for (enum column column = 0; column < COLUMNS; column++)
					wrong += check_column(&rows, enclosure, series, column, to);
			*checked += rows.count;
			rows_free(&rows);
		}
	}
	free(path);
	return wrong;
}

static struct conf *make_conf(const char *state)
{
	struct conf *conf = small_conf(state, ENCLOSURES, 10);

	conf->archive = (struct archive_rows){ MOST * 60.0, MOST * 60.0, MOST * 60.0, 0 };
	conf->enclosures[1].places[COOL_SIDE].watched = false;
	return conf;
}

static unsigned kill_again_and_again(struct feed *feed, struct conf *conf, const char *archive,
				     unsigned kills)
{
	unsigned amid = 0;

	for (unsigned i = 0; i < kills; i++) {
		one_life(feed, archive);
		if (i == kills / 2)
			add_a_place(feed, conf);
		kill_archivist(feed);
		amid += is_written(archive);
	}
	return amid;
}

int main(int argc, char **argv)
{
	unsigned kills = argc > 1 ? (unsigned)strtoul(argv[1], NULL, 10) : KILLS;
	unsigned seed = argc > 2 ? (unsigned)strtoul(argv[2], NULL, 10) : (unsigned)time(NULL);
	char folder[] = "/tmp/feed-kill-XXXXXX";
	unsigned long wrong = 0, checked = 0;

	if (!mkdtemp(folder))
		return 1;
	printf("%u kills, seed %u\n", kills, seed);
	srand(seed);
	char *archive = must_print("%s/archive", folder), *remove = must_print("rm -r %s", folder);
	struct conf *conf = make_conf(folder);
	struct feed *feed =
		feed_new(conf, &(struct feed_callbacks){ NULL, damaged, failing, working });
	unsigned amid = kill_again_and_again(feed, conf, archive, kills);

	add_some(feed, 100);
	feed_close(feed);
	if (!pump_until(feed, speed, 120, pump_closed, feed)) {
		fprintf(stderr, "not closed: %zu bytes still wait\n", feed_backlog(feed));
		return 1;
	}
	for (size_t i = 0; i < ENCLOSURES; i++)
		wrong += check(folder, i, &checked);
	printf("%u of %u kills hit a file being written; %lu rows looked at, %lu values wrong\n",
	       amid, kills, checked, wrong);
	wrong += left_overs(archive) + feed_dropped(feed);
	feed_free(feed);
	small_conf_free(conf);
	if (system(remove) != 0)
		return 1;
	free(archive);
	free(remove);
	return wrong || !amid;
}
