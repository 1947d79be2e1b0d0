/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was written to an archive, kept to compare; see archive_truth.h.
 */
#include "tests/archive_truth.h"

#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/cm.h"
#include "tests/rows.h"

const uint64_t truth_rows[ROW_SIZES] = { DAYS_60, 1500, 400 };
const struct series warm_t = { WARM_SIDE, TEMPERATURE };
const struct series cool_h = { COOL_SIDE, HUMIDITY };

int truth_set_up(void **state)
{
	struct truth *t = must_calloc(1, sizeof *t);

	t->folder = must_copy("/tmp/archive-XXXXXX");
	assert_non_null(mkdtemp(t->folder));
	t->path = must_print("%s/E1.rrd", t->folder);
	*state = t;
	return 0;
}

int truth_tear_down(void **state)
{
	struct truth *t = *state;
	char *command = must_print("rm -r '%s'", t->folder);

	assert_int_equal(system(command), 0);
	free(command);
	free(t->folder);
	free(t->path);
	free(t);
	return 0;
}

void truth_plan(struct truth *t, int64_t from, int64_t to, int which)
{
	for (int64_t end = from + 60; end <= to; end += 60, t->count++) {
		assert_true(t->count < TRUTH_MOST);
		t->written[t->count].end = end;
		t->written[t->count].which = which;
		t->written[t->count].cells[0] = made_up_cell(end, which == COOL ? 1 : 0);
		t->written[t->count].cells[1] = made_up_cell(end, 1);
	}
}

enum archive_result truth_write(struct truth *t, size_t from, size_t to)
{
	struct archive_minute *minutes = must_calloc(to - from + 1, sizeof *minutes);

	for (size_t i = from; i < to; i++) {
		uint32_t set = 0;

		if (t->written[i].which & WARM)
			set |= series_bit(warm_t);
		if (t->written[i].which & COOL)
			set |= series_bit(cool_h);
		minutes[i - from] = (struct archive_minute){ t->written[i].end, set,
							     t->written[i].cells };
	}
	enum archive_result result = archive_update(t->path, truth_rows, minutes, to - from, t->why);

	free(minutes);
	return result;
}

void truth_write_all(struct truth *t)
{
	if (truth_write(t, 0, t->count) != ARCHIVE_WRITTEN)
		fail_msg("%s", t->why);
}

const struct minute_cell *truth_cell(struct truth *t, int64_t end, int which, int64_t since)
{
	if (t->near >= t->count || t->written[t->near].end > end)
		t->near = 0;
	while (t->near < t->count && t->written[t->near].end < end)
		t->near++;
	if (t->near == t->count || t->written[t->near].end != end || !(t->written[t->near].which & which) ||
	    end - 60 < since)
		return NULL;
	return &t->written[t->near].cells[which == COOL && t->written[t->near].which == BOTH ? 1 : 0];
}

/* Mean of a column over the minutes of a row; shares of what was not written
 * are 0, values of it are not there. */
static double mean(struct truth *t, int64_t end, int step, int which, enum column column,
		   int64_t since)
{
	double sum = 0, n = 0;

	for (int64_t minute = end - step + 60; minute <= end; minute += 60) {
		const struct minute_cell none = { 0 };
		const struct minute_cell *cell = truth_cell(t, minute, which, since);
		double value = column_value(cell ? cell : &none, column);

		if (isnan(value))
			continue;
		sum += value;
		n++;
	}
	return n > 0 ? sum / n : (double)NAN;
}

static void compare(double is, double should, const char *ds, int step, int64_t end)
{
	if (isnan(is) && isnan(should))
		return;
	if (!(fabs(is - should) <= 1e-10))
		fail_msg("%s, row of %d s that ends at %lld: %.12g, not %.12g", ds, step,
			 (long long)end, is, should);
}

void truth_check(struct truth *t, int64_t from, int64_t to, int which, int64_t since)
{
	struct series series = which == WARM ? warm_t : cool_h;

	for (int size = 0; size < ROW_SIZES; size++) {
		int step = row_sizes[size];
		struct rows got;

		assert_true(rows_fetch(t->path, "AVERAGE", step, from, to, &got));
		for (enum column column = 0; column < COLUMNS; column++)
			for (int64_t end = from + step; end <= to; end += step) {
				char ds[DS_NAME];

				ds_name(series, column, ds);
				if (end <= since && column != COLUMN_VALUE)
					assert_true(isnan(rows_at(&got, ds, end)));
				else
					compare(rows_at(&got, ds, end),
						mean(t, end, step, which, column, since), ds, step, end);
			}
		rows_free(&got);
	}
}

char *truth_contents(const char *of, size_t *size)
{
	struct stat stat_now;
	int fd = open(of, O_RDONLY);

	assert_true(fd >= 0);
	assert_int_equal(fstat(fd, &stat_now), 0);
	*size = (size_t)stat_now.st_size;
	char *bytes = must_calloc(*size, 1);

	assert_int_equal(read(fd, bytes, *size), (ssize_t)*size);
	close(fd);
	return bytes;
}
