/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Minutes into round-robin files; see archive.h.
 */
#include "daemon/archive.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/archive_row.h"
#include "daemon/archive_rrd.h"

enum {
	ROWS_A_CALL = 512,  /* updates handed to librrd at once: a call costs ten of them */
	ARGUMENT_TEXT = 64, /* bytes of one DS: or RRA: argument */
	MOST_COLUMNS = MAX_SERIES * COLUMNS,
};

/* The rows a file is made of: means at every size, extremes at the two
 * longer ones.  A row is known when any part of it is. */
#define ROW_XFF "0.99"

static const struct {
	const char *function;
	int row_size;
} row_sets[] = {
	{ "AVERAGE", ROW_MINUTE }, { "AVERAGE", ROW_TEN_MINUTES },
	{ "AVERAGE", ROW_HOUR },   { "MIN", ROW_TEN_MINUTES },
	{ "MIN", ROW_HOUR },       { "MAX", ROW_TEN_MINUTES },
	{ "MAX", ROW_HOUR },
};

enum { ROW_SETS = sizeof row_sets / sizeof *row_sets };

/* One archive while it is being updated. */
struct archive_job {
	char *path;
	const uint64_t *rows;
	const struct archive_minute *minutes; /* that are to be written */
	size_t count, taken; /* there were, and are dealt with */
	struct archive_head head;
	int64_t last; /* of the file, kept up here between calls */
	enum archive_result result;
	char *why;
};

/* "DS:<name>:GAUGE:...": no heartbeat ever ends, no value is out of range. */
static void ds_argument(struct series series, enum column column, char buf[ARGUMENT_TEXT])
{
	char name[DS_NAME];

	snprintf(buf, ARGUMENT_TEXT, "DS:%s:GAUGE:%lu:U:U", ds_name(series, column, name),
		 ULONG_MAX);
}

static bool create(struct archive_job *job, const struct archive_minute *first)
{
	char texts[MOST_COLUMNS + ROW_SETS][ARGUMENT_TEXT];
	const char *arguments[MOST_COLUMNS + ROW_SETS];
	struct series series[MAX_SERIES];
	size_t count = series_in(first->series, series);
	int used = 0;

	for (size_t i = 0; i < count; i++)
		for (enum column column = 0; column < COLUMNS; column++)
			ds_argument(series[i], column, texts[used++]);
	for (size_t i = 0; i < ROW_SETS; i++) {
		size_t size = 0;

		while (row_sizes[size] != row_sets[i].row_size)
			size++;
		snprintf(texts[used++], ARGUMENT_TEXT, "RRA:%s:" ROW_XFF ":%d:%llu",
			 row_sets[i].function, row_sets[i].row_size / ARCHIVE_STEP,
			 (unsigned long long)job->rows[size]);
	}
	for (int i = 0; i < used; i++)
		arguments[i] = texts[i];
	int64_t begin = first->end - ARCHIVE_STEP;
	struct rrd_call call = { job->path, used, arguments, begin - begin % ROW_HOUR, job->why };

	return archive_rrd_create(&call);
}

/* The head of the file, which is made when it is not there. */
static enum archive_result open_head(struct archive_job *job, const struct archive_minute *first)
{
	enum head_state state = archive_head_read(job->path, &job->head, job->why);

	if (state == HEAD_ABSENT) {
		if (!create(job, first))
			return ARCHIVE_FAILED;
		state = archive_head_read(job->path, &job->head, job->why);
		if (state == HEAD_ABSENT)
			archive_rrd_explain(
				&(struct rrd_call){ .path = job->path, .why = job->why });
	}
	if (state == HEAD_GOOD) {
		job->last = job->head.last;
		return ARCHIVE_WRITTEN;
	}
	return state == HEAD_DAMAGED ? ARCHIVE_DAMAGED : ARCHIVE_FAILED;
}

static bool has_ds(const struct archive_head *head, const char *name)
{
	for (size_t i = 0; i < head->ds_count; i++)
		if (strcmp(archive_head_ds(head, i), name) == 0)
			return true;
	return false;
}

/* The columns of the set that the file lacks, as arguments; returns how many. */
static int missing(const struct archive_job *job, uint32_t set, char texts[MOST_COLUMNS][ARGUMENT_TEXT])
{
	struct series series[MAX_SERIES];
	size_t count = series_in(set, series);
	int used = 0;

	for (size_t i = 0; i < count; i++)
		for (enum column column = 0; column < COLUMNS; column++) {
			char name[DS_NAME];

			if (!has_ds(&job->head, ds_name(series[i], column, name)))
				ds_argument(series[i], column, texts[used++]);
		}
	return used;
}

/* Adds data sources, and looks whether they are there. */
static bool widen(struct archive_job *job, char texts[MOST_COLUMNS][ARGUMENT_TEXT], int count)
{
	const char *arguments[MOST_COLUMNS];
	struct rrd_call call = { job->path, count, arguments, 0, job->why };
	size_t before = job->head.ds_count;

	for (int i = 0; i < count; i++)
		arguments[i] = texts[i];
	if (!archive_rrd_widen(&call))
		return false;
	archive_head_free(&job->head);
	if (archive_head_read(job->path, &job->head, job->why) != HEAD_GOOD)
		return false;
	if (job->head.ds_count != before + (size_t)count) {
		archive_rrd_explain(&call);
		return false;
	}
	return true;
}

static enum archive_result update(struct archive_job *job, const char **texts, int count, int64_t last)
{
	struct rrd_call call = { job->path, count, texts, 0, job->why };

	if (!archive_rrd_update(&call))
		return ARCHIVE_FAILED;
	job->last = last;
	return ARCHIVE_WRITTEN;
}

/* The texts of one call, each ended. */
struct rows {
	const char *texts[ROWS_A_CALL];
	int count;
	char *room, *at; /* room: malloc'ed; at: where the next text goes */
};

static void add_row(struct rows *rows, const struct archive_job *job, int64_t stamp,
		    const struct archive_filling *fillings, const struct minute_cell *cells)
{
	rows->texts[rows->count++] = rows->at;
	rows->at = archive_row_put(rows->at, stamp, fillings, job->head.ds_count, cells);
}

/* One call's worth of the minutes, which are all of one set.  Nothing later
 * than `until` is written: when the next minute is, the time up to `until`
 * is made blank. */
static enum archive_result write_some(struct archive_job *job, const struct archive_minute *minutes,
				      size_t count, int64_t until, size_t *written)
{
	size_t ds_count = job->head.ds_count;
	size_t most = count < ROWS_A_CALL / 2 ? 2 * count : ROWS_A_CALL; /* with blanks */
	struct archive_filling *fillings = must_calloc(ds_count, sizeof *fillings);
	struct rows rows = { .room = must_calloc(most, ROW_STAMP + ds_count * ROW_CELL) };
	int64_t last = job->last;
	size_t i = 0;

	rows.at = rows.room;
	archive_row_plan(&job->head, minutes->series, fillings);
	for (; i < count && rows.count + 1 < ROWS_A_CALL; i++) {
		int64_t begin = minutes[i].end - ARCHIVE_STEP;

		if (begin > last) {
			last = begin < until ? begin : until;
			add_row(&rows, job, last, fillings, NULL);
		}
		if (minutes[i].end > until)
			break;
		last = minutes[i].end;
		add_row(&rows, job, last, fillings, minutes[i].cells);
	}
	enum archive_result result = update(job, rows.texts, rows.count, last);

	*written = i;
	free(rows.room);
	free(fillings);
	return result;
}

static const struct archive_minute *next_minute(const struct archive_job *job)
{
	return &job->minutes[job->taken];
}

static void skip_old(struct archive_job *job)
{
	while (job->taken < job->count && next_minute(job)->end <= job->last)
		job->taken++;
}

/* From the head of the list, those of one set. */
static size_t alike(const struct archive_minute *minutes, size_t count)
{
	size_t i = 1;

	while (i < count && minutes[i].series == minutes[0].series &&
	       minutes[i].end > minutes[i - 1].end)
		i++;
	return i;
}

/* The columns that the file lacks for the next minute, as arguments. */
static int lacking(const struct archive_job *job, char texts[MOST_COLUMNS][ARGUMENT_TEXT])
{
	return job->taken < job->count ? missing(job, next_minute(job)->series, texts) : 0;
}

/* Whether the file is to be made wider before the next minute. */
static bool is_to_widen(const struct archive_job *job)
{
	char texts[MOST_COLUMNS][ARGUMENT_TEXT];

	return job->last % ROW_HOUR == 0 && lacking(job, texts);
}

static enum archive_result prepare(struct archive_job *job)
{
	char texts[MOST_COLUMNS][ARGUMENT_TEXT];

	if (!job->count)
		return ARCHIVE_WRITTEN;
	enum archive_result result = open_head(job, job->minutes);

	if (result != ARCHIVE_WRITTEN)
		return result;
	skip_old(job);
	if (is_to_widen(job) && !widen(job, texts, lacking(job, texts)))
		return ARCHIVE_FAILED;
	return ARCHIVE_WRITTEN;
}

struct archive_job *archive_begin(const char *path, const uint64_t rows[ROW_SIZES],
				  const struct archive_minute *minutes, size_t count,
				  char why[ARCHIVE_TEXT])
{
	struct archive_job *job = must_calloc(1, sizeof *job);

	*job = (struct archive_job){ .path = must_copy(path), .rows = rows, .minutes = minutes,
				     .count = count, .why = why };
	job->result = prepare(job);
	return job;
}

const struct archive_head *archive_touches(const struct archive_job *job)
{
	return job->result == ARCHIVE_WRITTEN && job->taken < job->count ? &job->head : NULL;
}

static bool write_next(struct archive_job *job)
{
	char texts[MOST_COLUMNS][ARGUMENT_TEXT];
	int64_t until = lacking(job, texts) ? job->last - job->last % ROW_HOUR + ROW_HOUR
					    : INT64_MAX;
	size_t written = 0;

	job->result = write_some(job, next_minute(job),
				 alike(next_minute(job), job->count - job->taken), until, &written);
	job->taken += written;
	skip_old(job);
	return job->result == ARCHIVE_WRITTEN;
}

size_t archive_write(struct archive_job *job)
{
	while (archive_touches(job) && !is_to_widen(job))
		if (!write_next(job))
			break;
	return job->taken;
}

void archive_sync(struct archive_job *job)
{
	if (job->result != ARCHIVE_WRITTEN)
		return;
	int fd = open(job->path, O_RDONLY | O_CLOEXEC);

	if (fd < 0 || fdatasync(fd) != 0) {
		snprintf(job->why, ARCHIVE_TEXT, "it cannot be brought to the disk: %s",
			 strerror(errno));
		job->result = ARCHIVE_FAILED;
	}
	if (fd >= 0)
		close(fd);
}

void archive_refuse(struct archive_job *job, const char *why)
{
	if (job->result != ARCHIVE_WRITTEN)
		return;
	snprintf(job->why, ARCHIVE_TEXT, "%s", why);
	job->result = ARCHIVE_FAILED;
}

enum archive_result archive_result(const struct archive_job *job)
{
	return job->result;
}

void archive_end(struct archive_job *job)
{
	archive_head_free(&job->head);
	free(job->path);
	free(job);
}
