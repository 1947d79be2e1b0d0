/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Minutes that are not archived yet; see gathered_rows.h.
 */
#include "report/gathered_rows.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/gathered.h"
#include "conf/memory.h"
#include "conf/readfile.h"

struct gathered_file gathered_read(const char *state, char **trouble)
{
	char *path = state_path(state, GATHERED_FILE);
	struct gathered_file file = { .taken = true };

	file.bytes = (unsigned char *)file_read(path, GATHERED_MOST, &file.size);
	if (!file.bytes && errno != ENOENT)
		*trouble = must_print("the newest minutes are not known: %s cannot be read: %s", path,
				      strerror(errno));
	free(path);
	return file;
}

void gathered_clear(struct gathered_file *file)
{
	free(file->bytes);
	*file = (struct gathered_file){ 0 };
}

/* The cell of a series; NULL when the minute has none. */
static const struct minute_cell *cell_of(const struct gathered_minute *minute,
					 struct series series)
{
	struct series there[MAX_SERIES];
	size_t count = series_in(minute->series, there);

	for (size_t i = 0; i < count; i++)
		if (there[i].place == series.place && there[i].quantity == series.quantity)
			return &minute->cells[i];
	return NULL;
}

static struct row row_of(const struct minute_cell *cell, double from)
{
	struct row row = { .from = from, .to = from + ARCHIVE_STEP };

	if (!cell || !(cell->ok > 0))
		return row;
	row.ok = cell->ok * ARCHIVE_STEP;
	row.low = cell->low * ARCHIVE_STEP;
	row.high = cell->high * ARCHIVE_STEP;
	row.out = cell->out * ARCHIVE_STEP;
	row.has_value = true;
	row.value = row.min = row.max = cell->value;
	return row;
}

static void append_row(struct series_rows *rows, struct row row)
{
	rows->list = must_resize(rows->list, rows->count + 1, sizeof *rows->list);
	rows->list[rows->count++] = row;
}

/* From when on the archive takes each series; -infinity: not known yet. */
struct begins {
	double from[MAX_SERIES];
};

/* True when the archive will take the cell that record->series[i] has in the
 * minute that begins then: new columns begin at the next full hour. */
static bool will_take(const struct record *record, struct begins *begins, size_t i, double from)
{
	if (record->archived[i])
		return true;
	if (isinf(begins->from[i]))
		begins->from[i] = ceil(record->newest / ROW_HOUR) * ROW_HOUR;
	return from >= begins->from[i];
}

/* A series that has neither rows nor a cell keeps none. */
static void append_minute(struct record *record, const struct gathered_minute *minute,
			  struct begins *begins)
{
	double from = (double)minute->end - ARCHIVE_STEP;

	for (size_t i = 0; i < record->count; i++) {
		struct series_rows *rows = &record->series[i];
		const struct minute_cell *cell = cell_of(minute, rows->series);

		if (cell && !will_take(record, begins, i, from))
			cell = NULL;
		if (!cell && !rows->count)
			continue;
		if (rows->count && rows->list[rows->count - 1].to < from)
			append_row(rows, (struct row){ .from = rows->list[rows->count - 1].to,
						       .to = from });
		append_row(rows, row_of(cell, from));
	}
	record->newest = (double)minute->end;
}

void gathered_append(const struct gathered_file *file, const char *enclosure, double until,
		     struct record *record)
{
	struct gathered_minute minute;
	struct begins begins;
	size_t at = 0;

	for (size_t i = 0; i < MAX_SERIES; i++)
		begins.from[i] = -INFINITY;
	while (file->bytes && gathered_next(file->bytes, file->size, enclosure, &at, &minute))
		if ((double)minute.end > record->newest &&
		    (double)minute.end - ARCHIVE_STEP < until)
			append_minute(record, &minute, &begins);
}
