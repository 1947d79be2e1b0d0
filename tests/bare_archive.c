/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Archives by bare librrd; see bare_archive.h.
 */
#include "tests/bare_archive.h"

#include <rrd.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/memory.h"

void bare_init(struct bare *bare, char *path, const struct conf *conf,
	       const struct enclosure *enclosure)
{
	*bare = (struct bare){ .path = path };
	bare->series_count = enclosure_series(conf, enclosure, bare->series);
	for (size_t i = 0; i < bare->series_count * COLUMNS; i++)
		bare->fillings[i] = (struct archive_filling){ (int)(i / COLUMNS),
							      (enum column)(i % COLUMNS) };
	bare->room = must_calloc(2 * BARE_MOST,
				 ROW_STAMP + bare->series_count * COLUMNS * ROW_CELL);
}

void bare_free(struct bare *bare)
{
	free(bare->path);
	free(bare->room);
}

bool bare_create(struct bare *bare, const struct archive_rows *rows, int64_t begin)
{
	static const char *const functions[] = { "AVERAGE", "MIN", "MAX" };
	char *texts[MAX_SERIES * COLUMNS + 3 * ROW_SIZES];
	int count = 0;

	for (size_t i = 0; i < bare->series_count; i++)
		for (enum column column = 0; column < COLUMNS; column++) {
			char name[DS_NAME];

			texts[count++] = must_print("DS:%s:GAUGE:1000000000:U:U",
						    ds_name(bare->series[i], column, name));
		}
	for (int i = 0; i < 3 * ROW_SIZES; i++) {
		int size = row_sizes[i % ROW_SIZES];

		if (size != ROW_MINUTE || i < ROW_SIZES) /* no extremes of minutes */
			texts[count++] = must_print("RRA:%s:0.99:%d:%zu", functions[i / ROW_SIZES],
						    size / ARCHIVE_STEP, row_count(rows, size));
	}
	bare->last = begin;
	int result = rrd_create_r2(bare->path, ARCHIVE_STEP, (time_t)begin, 0, NULL, NULL, count,
				   (const char **)texts);

	for (int i = 0; i < count; i++)
		free(texts[i]);
	return result == 0;
}

static bool is_blank(const struct bare *bare, const struct minute_cell *cells)
{
	for (size_t i = 0; i < bare->series_count; i++)
		if (cells[i].ok > 0)
			return false;
	return true;
}

/* A row's text by printf, with as many digits as ours has. */
static char *print_row(char *at, int64_t stamp, const struct minute_cell *cells, size_t series)
{
	static const struct minute_cell blank = { .ok = 0 };

	at += snprintf(at, ROW_STAMP, "%lld", (long long)stamp);
	for (size_t i = 0; i < series; i++) {
		const struct minute_cell *cell = cells ? &cells[i] : &blank;
		const double numbers[] = { cell->low, cell->high, cell->ok, cell->out };

		at += cell->ok > 0 ? snprintf(at, ROW_CELL, ":%.12g", cell->value)
				   : snprintf(at, ROW_CELL, ":U");
		for (size_t n = 0; n < sizeof numbers / sizeof *numbers; n++)
			at += snprintf(at, ROW_CELL, ":%.12g", numbers[n]);
	}
	return at + 1;
}

static char *put_row(const struct bare *bare, char *at, int64_t stamp,
		     const struct minute_cell *cells)
{
	if (bare->printed)
		return print_row(at, stamp, cells, bare->series_count);
	return archive_row_put(at, stamp, bare->fillings, bare->series_count * COLUMNS, cells);
}

bool bare_write(struct bare *bare, int64_t begin, const struct minute_cell *cells, size_t minutes)
{
	const char *texts[2 * BARE_MOST];
	char *at = bare->room;
	int used = 0;

	for (size_t i = 0; i < minutes; i++, cells += bare->series_count) {
		int64_t end = begin + (int64_t)(i + 1) * ARCHIVE_STEP;

		if (is_blank(bare, cells))
			continue;
		if (end - ARCHIVE_STEP > bare->last) {
			texts[used++] = at;
			at = put_row(bare, at, end - ARCHIVE_STEP, NULL);
		}
		texts[used++] = at;
		at = put_row(bare, at, end, cells);
		bare->last = end;
	}
	return !used || rrd_update_r(bare->path, NULL, used, texts) == 0;
}

double *archive_means(const char *path, unsigned long step, int64_t from, int64_t until,
		      size_t *rows, size_t *columns)
{
	time_t start = (time_t)from, end = (time_t)until;
	unsigned long width, given = step;
	rrd_value_t *values;
	char **names;

	if (rrd_fetch_r(path, "AVERAGE", &start, &end, &given, &width, &names, &values) != 0)
		return NULL;
	for (unsigned long i = 0; i < width; i++)
		rrd_freemem(names[i]);
	rrd_freemem(names);
	if (given != step || start != (time_t)from || (int64_t)end < until) {
		rrd_freemem(values);
		return NULL;
	}
	*rows = (size_t)(until - from) / step;
	*columns = width;
	return values;
}
