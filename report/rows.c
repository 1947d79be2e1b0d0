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
#include "report/gathered_rows.h"

enum { READ_TRIES = 3 }; /* when the archive moved on while it was read */

static const double ROUNDING = 1e-6; /* of a row's time */

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

/* Where the columns of each series of a record stand in the file. */
struct columns {
	bool there[MAX_SERIES];
	size_t at[MAX_SERIES][COLUMNS];
};

static void find_columns(const struct shape *shape, const struct record *record,
			 struct columns *out)
{
	char name[DS_NAME];

	for (size_t i = 0; i < record->count; i++) {
		struct series series = record->series[i].series;

		out->there[i] = true;
		for (int column = 0; column < COLUMNS; column++)
			out->there[i] &= shape_find(shape,
						    ds_name(series, (enum column)column, name),
						    &out->at[i][column]);
	}
}

/* A share of the row in s; a share that is not there (NaN) is none. */
static double seconds_of(double share, int row_size)
{
	if (!(share > 0))
		return 0;
	return share < 1 ? share * row_size : row_size;
}

/* `means` are those of all columns in that row. */
static struct row row_of(const double *means, const size_t at[COLUMNS], double from, int row_size)
{
	double value = means[at[COLUMN_VALUE]], out = means[at[COLUMN_OUT]];
	struct row row = {
		.from = from,
		.to = from + row_size,
		.ok = seconds_of(means[at[COLUMN_OK]], row_size),
		.low = seconds_of(means[at[COLUMN_LOW]], row_size),
		.high = seconds_of(means[at[COLUMN_HIGH]], row_size),
		.out = out > 0 ? out * row_size : 0,
		.value = value,
		.min = value,
		.max = value,
	};

	row.has_value = !isnan(value) && row.ok > 0;
	return row;
}

/* Whether an archive of ours can hold that: damage is to be unknown time, not a reading. */
static bool is_possible(const struct row *row, enum quantity quantity)
{
	static const struct range possible[QUANTITIES] = { { -100, 200 }, { -50, 150 } };
	const struct range *range = &possible[quantity];
	double most_out = (range->high - range->low) * (row->to - row->from);

	return !row->has_value || (row->value >= range->low && row->value <= range->high &&
				   row->min >= range->low && row->max <= range->high &&
				   row->out <= most_out && row->low + row->high <=
							   row->ok + ROUNDING * (row->to - row->from));
}

/* Impossible rows become unknown ones. */
static void check_rows(struct record *record)
{
	for (size_t i = 0; i < record->count; i++)
		for (size_t n = 0; n < record->series[i].count; n++) {
			struct row *row = &record->series[i].list[n];

			if (is_possible(row, record->series[i].series.quantity))
				continue;
			*row = (struct row){ .from = row->from, .to = row->to };
			record->impossible++;
		}
}

static size_t rows_in(struct block block)
{
	return (size_t)((block.to - block.from) / block.row_size);
}

static void append_block(struct record *record, const struct shape *shape,
			 const struct columns *columns, struct block block, const double *means)
{
	size_t count = rows_in(block);

	for (size_t i = 0; i < record->count; i++) {
		struct series_rows *rows = &record->series[i];

		if (!columns->there[i])
			continue;
		rows->list = must_resize(rows->list, rows->count + count, sizeof *rows->list);
		for (size_t n = 0; n < count; n++)
			rows->list[rows->count++] =
				row_of(means + n * shape->names_count, columns->at[i],
				       block.from + (double)n * block.row_size, block.row_size);
	}
}

/* Puts the extremes of a block into the rows that append_block has just made. */
static void put_extremes(struct record *record, const struct shape *shape,
			 const struct columns *columns, struct block block, const double *extremes,
			 bool lowest)
{
	size_t count = rows_in(block);

	for (size_t i = 0; i < record->count; i++) {
		struct series_rows *rows = &record->series[i];
		const double *extreme = extremes + columns->at[i][COLUMN_VALUE];

		if (!columns->there[i])
			continue;
		for (size_t n = 0; n < count; n++, extreme += shape->names_count)
			if (!isnan(*extreme)) {
				struct row *row = &rows->list[rows->count - count + n];

				*(lowest ? &row->min : &row->max) = *extreme;
			}
	}
}

/* Appends the rows of a block, one function's numbers in memory at a time.
 * A minute is its own extremes. */
static enum fetched read_block(const char *path, const struct shape *shape,
			       const struct columns *columns, struct block block,
			       struct record *record)
{
	static const char *const functions[] = { "AVERAGE", "MIN", "MAX" };
	int count = block.row_size == ROW_MINUTE ? 1 : 3;

	for (int i = 0; i < count; i++) {
		double *values;

		block.function = functions[i];

		enum fetched fetched = fetch_block(path, shape, block, &values, &record->trouble);

		if (fetched != FETCHED)
			return fetched;
		if (i == 0)
			append_block(record, shape, columns, block, values);
		else
			put_extremes(record, shape, columns, block, values, i == 1);
		fetch_free(values);
	}
	return FETCHED;
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
	struct columns columns = { 0 };

	find_columns(shape, record, &columns);
	for (size_t i = 0; i < record->count; i++)
		record->archived[i] = columns.there[i];
	record->row_size = size < 0 ? 0 : row_sizes[size];
	while (size >= 0 && at < window.to) {
		int row_size = row_sizes[size];
		double closed = floor_to(shape->newest, row_size);
		double to = fmin(floor_to(window.to, row_size), closed);
		int finer = finer_at(shape, size, to);
		struct block block = { .row_size = row_size, .to = to,
				       .from = fmax(floor_to(at, row_size),
						    kept_from(shape, size)) };

		if (finer < 0)
			block.to = fmin(ceil_to(window.to, row_size), closed);
		size = finer;
		if (block.from >= block.to)
			continue;

		enum fetched fetched = read_block(path, shape, &columns, block, record);

		if (fetched != FETCHED)
			return fetched;
		at = block.to;
	}
	return FETCHED;
}

/* Only the first and the last row can lie across an edge. */
static bool cut_row(struct row *row, struct window window)
{
	double from = fmax(row->from, window.from), to = fmin(row->to, window.to);
	double part = (to - from) / (row->to - row->from);

	if (from <= row->from && to >= row->to)
		return false;
	row->from = from;
	row->to = to;
	row->ok *= part;
	row->low *= part;
	row->high *= part;
	row->out *= part;
	return true;
}

bool rows_cut(struct series_rows *rows, struct window window)
{
	size_t first = 0, end = rows->count;

	while (first < end && rows->list[first].to <= window.from)
		first++;
	while (end > first && rows->list[end - 1].from >= window.to)
		end--;
	rows->count = end - first;
	if (!rows->count)
		return false;
	if (first)
		memmove(rows->list, rows->list + first, rows->count * sizeof *rows->list);

	bool cut = cut_row(&rows->list[0], window);

	return cut_row(&rows->list[rows->count - 1], window) || cut;
}

/* The archive's head; where the window reaches beyond it, what is gathered
 * is read first and the head is the one after that. */
static bool look(const char *path, const char *state, struct window window,
		 struct gathered_file *gathered, struct shape *shape, struct record *record)
{
	if (!fetch_shape(path, shape, &record->trouble, &record->missing))
		return false;
	if (gathered->taken || window.to <= floor_to(shape->newest, ROW_MINUTE))
		return true;
	shape_clear(shape);
	*gathered = gathered_read(state, &record->behind);
	return fetch_shape(path, shape, &record->trouble, &record->missing);
}

void record_read(const struct conf *conf, const struct enclosure *enclosure, struct window window,
		 struct record *out)
{
	struct series series[MAX_SERIES];
	char *path = archive_path(conf->state, enclosure->name);
	enum fetched fetched = FETCH_MOVED;

	*out = (struct record){ .count = enclosure_series(conf, enclosure, series) };
	if (!out->count) {
		free(path); /* no probe, no archive */
		return;
	}
	for (size_t i = 0; i < out->count; i++)
		out->series[i].series = series[i];
	struct gathered_file gathered = { 0 };

	for (int tries = 0; fetched == FETCH_MOVED && tries < READ_TRIES; tries++) {
		struct shape shape;

		if (!look(path, conf->state, window, &gathered, &shape, out))
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
	else
		gathered_append(&gathered, enclosure->name, window.to, out);
	gathered_clear(&gathered);
	check_rows(out);
	for (size_t i = 0; i < out->count; i++)
		out->shared_out |= rows_cut(&out->series[i], window);
	free(path);
}

void record_clear(struct record *record)
{
	drop_rows(record);
	free(record->trouble);
	free(record->behind);
	*record = (struct record){ 0 };
}
