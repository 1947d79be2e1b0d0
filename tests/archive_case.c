/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the tests of archive.c share; see archive_case.h.
 */
#include "tests/cm.h"

#include "tests/archive_case.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "tests/archive_update.h"
#include "tests/rows.h"

struct archive_case it;

const uint64_t case_rows[ROW_SIZES] = { CASE_ROWS, 1500, 400 };
const struct series warm_t = { WARM_SIDE, TEMPERATURE, false };
const struct series cool_h = { COOL_SIDE, HUMIDITY, false };

int case_set_up(void **state)
{
	char template[] = "/tmp/archive-XXXXXX";

	(void)state;
	assert_non_null(mkdtemp(template));
	it.folder = must_copy(template);
	it.path = must_print("%s/E1.rrd", it.folder);
	it.count = 0;
	*it.why = '\0';
	return 0;
}

int case_tear_down(void **state)
{
	char *command = must_print("rm -r '%s'", it.folder);

	(void)state;
	assert_int_equal(system(command), 0);
	free(command);
	free(it.folder);
	free(it.path);
	return 0;
}

void case_plan(int64_t from, int64_t to, int which)
{
	for (int64_t end = from + 60; end <= to; end += 60, it.count++) {
		assert_true(it.count < CASE_MOST);
		it.minutes[it.count].end = end;
		it.minutes[it.count].which = which;
		it.minutes[it.count].cells[0] = made_up_cell(end, which == COOL ? 1 : 0);
		it.minutes[it.count].cells[1] = made_up_cell(end, 1);
	}
}

enum archive_result case_write(size_t from, size_t to)
{
	struct archive_minute *minutes = must_calloc(to - from + 1, sizeof *minutes);

	for (size_t i = from; i < to; i++) {
		uint32_t set = 0;

		if (it.minutes[i].which & WARM)
			set |= series_bit(warm_t);
		if (it.minutes[i].which & COOL)
			set |= series_bit(cool_h);
		minutes[i - from] =
			(struct archive_minute){ it.minutes[i].end, set, it.minutes[i].cells };
	}
	enum archive_result result = archive_update(it.path, case_rows, minutes, to - from, it.why);

	free(minutes);
	return result;
}

void case_write_all(void)
{
	if (case_write(0, it.count) != ARCHIVE_WRITTEN)
		fail_msg("%s", it.why);
}

const struct minute_cell *case_cell(int64_t end, int which, int64_t since)
{
	static size_t near;

	if (near >= it.count || it.minutes[near].end > end)
		near = 0;
	while (near < it.count && it.minutes[near].end < end)
		near++;
	if (near == it.count || it.minutes[near].end != end || !(it.minutes[near].which & which) ||
	    end - 60 < since)
		return NULL;
	return &it.minutes[near].cells[which == COOL && it.minutes[near].which == BOTH ? 1 : 0];
}

/* Mean of a column over the minutes of a row; shares of what was not written
 * are 0, values of it are not there. */
static double mean(int64_t end, int step, int which, enum column column, int64_t since)
{
	double sum = 0, n = 0;

	for (int64_t minute = end - step + 60; minute <= end; minute += 60) {
		const struct minute_cell none = { 0 }, *cell = case_cell(minute, which, since);
		double value = column_value(cell ? cell : &none, column);

		if (isnan(value))
			continue;
		sum += value;
		n++;
	}
	return n ? sum / n : (double)NAN;
}

static void compare(double is, double should, const char *ds, int step, int64_t end)
{
	if (isnan(is) && isnan(should))
		return;
	if (!(fabs(is - should) <= 1e-10))
		fail_msg("%s, row of %d s that ends at %lld: %.12g, not %.12g", ds, step,
			 (long long)end, is, should);
}

void case_check(int64_t from, int64_t to, int which, int64_t since)
{
	struct series series = which == WARM ? warm_t : cool_h;

	for (int size = 0; size < ROW_SIZES; size++) {
		int step = row_sizes[size];
		struct rows got;

		assert_true(rows_fetch(it.path, "AVERAGE", step, from, to, &got));
		for (enum column column = 0; column < COLUMNS; column++)
			for (int64_t end = from + step; end <= to; end += step) {
				char ds[DS_NAME];

				ds_name(series, column, ds);
				if (end <= since && column != COLUMN_VALUE)
					assert_true(isnan(rows_at(&got, ds, end)));
				else
					compare(rows_at(&got, ds, end),
						mean(end, step, which, column, since), ds, step,
						end);
			}
		rows_free(&got);
	}
}

char *case_contents(const char *path, size_t *size)
{
	struct stat stat_now;
	int fd = open(path, O_RDONLY);

	assert_true(fd >= 0);
	assert_int_equal(fstat(fd, &stat_now), 0);
	*size = (size_t)stat_now.st_size;
	char *bytes = must_calloc(*size, 1);

	assert_int_equal(read(fd, bytes, *size), (ssize_t)*size);
	close(fd);
	return bytes;
}
