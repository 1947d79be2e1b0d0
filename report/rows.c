/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Archive + window -> rows; see rows.h.
 */
#include "report/rows.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "report/fetch.h"

enum { READ_TRIES = 3 }; /* when the archive moved on while it was read */

static double floor_to(double instant, int size)
{
	return floor(instant / size) * size;
}

static double ceil_to(double instant, int size)
{
	return ceil(instant / size) * size;
}

/* The instant from which rows of that size are kept; +infinity for none. */
static double kept_from(const struct shape *shape, int size)
{
	if (!shape->rows[size])
		return INFINITY;
	return floor_to(shape->newest, row_sizes[size]) -
	       (double)shape->rows[size] * row_sizes[size];
}

/* The finest size that reaches back to the instant, else the one that
 * reaches back farthest; -1 when the file has no rows of ours at all. */
static int size_reaching(const struct shape *shape, double instant)
{
	int best = -1;

	for (int size = 0; size < ROW_SIZES; size++) {
		double from = kept_from(shape, size);

		if (from <= floor_to(instant, row_sizes[size]))
			return size;
		if (isfinite(from) && (best < 0 || from < kept_from(shape, best)))
			best = size;
	}
	return best;
}

/* The next finer size that still keeps the instant; -1 for none. */
static int finer_at(const struct shape *shape, int size, double instant)
{
	while (--size >= 0)
		if (kept_from(shape, size) <= instant)
			return size;
	return -1;
}

/* A consolidated block and the extremes beside it. */
struct blocks {
	double *mean, *min, *max; /* min and max are NULL for minute rows */
};

static void blocks_clear(struct blocks *blocks)
{
	free(blocks->mean);
	free(blocks->min);
	free(blocks->max);
}

static enum fetched blocks_read(const char *path, const struct shape *shape, struct block block,
				struct blocks *blocks, char **trouble)
{
	enum fetched fetched = fetch_block(path, shape, block, &blocks->mean, trouble);

	if (fetched != FETCHED || block.row_size == ROW_MINUTE)
		return fetched;
	block.function = "MIN";
	fetched = fetch_block(path, shape, block, &blocks->min, trouble);
	if (fetched != FETCHED)
		return fetched;
	block.function = "MAX";
	return fetch_block(path, shape, block, &blocks->max, trouble);
}

/* A share of the row in s; a share that is not there is none. */
static double seconds_of(double share, int row_size)
{
	return isnan(share) ? 0 : fmin(fmax(share, 0), 1) * row_size;
}

static struct row row_of(const struct blocks *blocks, const size_t at[COLUMNS], size_t base,
			 double from, int row_size)
{
	double value = blocks->mean[base + at[COLUMN_VALUE]];
	double out = blocks->mean[base + at[COLUMN_OUT]];
	struct row row = {
		.from = from,
		.to = from + row_size,
		.ok = seconds_of(blocks->mean[base + at[COLUMN_OK]], row_size),
		.low = seconds_of(blocks->mean[base + at[COLUMN_LOW]], row_size),
		.high = seconds_of(blocks->mean[base + at[COLUMN_HIGH]], row_size),
		.out = isnan(out) ? 0 : fmax(out, 0) * row_size,
		.has_value = !isnan(value),
		.value = value,
		.min = value,
		.max = value,
	};

	if (blocks->min && !isnan(blocks->min[base + at[COLUMN_VALUE]]))
		row.min = blocks->min[base + at[COLUMN_VALUE]];
	if (blocks->max && !isnan(blocks->max[base + at[COLUMN_VALUE]]))
		row.max = blocks->max[base + at[COLUMN_VALUE]];
	if (row.ok <= 0)
		row.has_value = false;
	return row;
}

/* Where the columns of a series stand in the file; false when one is not there. */
static bool find_columns(const struct shape *shape, struct series series, size_t at[COLUMNS])
{
	char name[DS_NAME];

	for (int column = 0; column < COLUMNS; column++)
		if (!shape_find(shape, ds_name(series, (enum column)column, name), &at[column]))
			return false;
	return true;
}

static void append_block(struct record *record, const struct shape *shape, struct block block,
			 const struct blocks *blocks)
{
	size_t count = (size_t)((block.to - block.from) / block.row_size);

	for (size_t i = 0; i < record->count; i++) {
		struct series_rows *rows = &record->series[i];
		size_t at[COLUMNS];

		if (!find_columns(shape, rows->series, at))
			continue;
		rows->list = must_resize(rows->list, rows->count + count, sizeof *rows->list);
		for (size_t row = 0; row < count; row++)
			rows->list[rows->count++] =
				row_of(blocks, at, row * shape->names_count,
				       block.from + (double)row * block.row_size, block.row_size);
	}
}

static void drop_rows(struct record *record)
{
	for (size_t i = 0; i < record->count; i++) {
		free(record->series[i].list);
		record->series[i].list = NULL;
		record->series[i].count = 0;
	}
}

/* From the window's begin on in the coarsest rows needed, then finer and
 * finer ones for what the coarser ones have not closed yet or would cut. */
static enum fetched read_window(const char *path, const struct shape *shape, struct window window,
				struct record *record)
{
	double at = window.from;
	int size = size_reaching(shape, at);

	record->row_size = size < 0 ? 0 : row_sizes[size];
	while (size >= 0 && at < window.to) {
		int row_size = row_sizes[size];
		double closed = floor_to(shape->newest, row_size);
		double to = fmin(floor_to(window.to, row_size), closed);
		int finer = finer_at(shape, size, to);
		struct block block = { "AVERAGE", row_size, fmax(floor_to(at, row_size),
								 kept_from(shape, size)), to };
		struct blocks blocks = { 0 };

		if (finer < 0)
			block.to = fmin(ceil_to(window.to, row_size), closed);
		size = finer;
		if (block.from >= block.to)
			continue;

		enum fetched fetched = blocks_read(path, shape, block, &blocks, &record->trouble);

		if (fetched == FETCHED)
			append_block(record, shape, block, &blocks);
		blocks_clear(&blocks);
		if (fetched != FETCHED)
			return fetched;
		at = block.to;
	}
	return FETCHED;
}

bool rows_cut(struct series_rows *rows, struct window window)
{
	bool cut = false;
	size_t kept = 0;

	for (size_t i = 0; i < rows->count; i++) {
		struct row row = rows->list[i];
		double from = fmax(row.from, window.from), to = fmin(row.to, window.to);

		if (from >= to)
			continue;
		if (from > row.from || to < row.to) {
			double part = (to - from) / (row.to - row.from);

			row.from = from;
			row.to = to;
			row.ok *= part;
			row.low *= part;
			row.high *= part;
			row.out *= part;
			cut = true;
		}
		rows->list[kept++] = row;
	}
	rows->count = kept;
	return cut;
}

void record_read(const struct conf *conf, const struct enclosure *enclosure, struct window window,
		 struct record *out)
{
	struct series series[MAX_SERIES];
	char *path = archive_path(conf->state, enclosure->name);
	enum fetched fetched = FETCH_MOVED;

	*out = (struct record){ .count = enclosure_series(conf, enclosure, series) };
	for (size_t i = 0; i < out->count; i++)
		out->series[i].series = series[i];
	for (int tries = 0; fetched == FETCH_MOVED && tries < READ_TRIES; tries++) {
		struct shape shape;

		if (!fetch_shape(path, &shape, &out->trouble, &out->missing))
			break;
		drop_rows(out);
		out->newest = floor_to(shape.newest, ROW_MINUTE);
		fetched = read_window(path, &shape, window, out);
		shape_clear(&shape);
	}
	if (fetched == FETCH_MOVED && !out->trouble)
		out->trouble = must_print("%s does not give the rows its head names", path);
	if (out->trouble)
		drop_rows(out);
	for (size_t i = 0; i < out->count; i++)
		out->shared_out |= rows_cut(&out->series[i], window);
	free(path);
}

void record_clear(struct record *record)
{
	drop_rows(record);
	free(record->trouble);
	*record = (struct record){ 0 };
}
