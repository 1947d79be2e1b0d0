/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands in the round-robin files, read back at every row size: the
 * hour they begin on, holes, places added and gone, updates undone and
 * damaged files.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/archive.h"
#include "daemon/batch.h"
#include "tests/rows.h"

enum { MOST = 20000, DAYS_60 = 4 * 1440, WARM = 1, COOL = 2, BOTH = 3 };

static const uint64_t rows[ROW_SIZES] = { DAYS_60, 1500, 400 };

/* 2026-01-05 00:00 UTC */
static const int64_t midnight = 1767571200;

static const struct series warm_t = { WARM_SIDE, TEMPERATURE };
static const struct series cool_h = { COOL_SIDE, HUMIDITY };

static char *folder, *path;
static char why[ARCHIVE_TEXT];

/* What was written: the truth that the rows are held against. */
static struct {
	int64_t end;
	int which;              /* WARM, COOL or BOTH */
	struct minute_cell cells[2];
} written[MOST];
static size_t count;

static int set_up(void **state)
{
	char template[] = "/tmp/archive-XXXXXX";

	(void)state;
	assert_non_null(mkdtemp(template));
	folder = must_copy(template);
	path = must_print("%s/E1.rrd", folder);
	count = 0;
	*why = '\0';
	return 0;
}

static int tear_down(void **state)
{
	char *command = must_print("rm -r '%s'", folder);

	(void)state;
	assert_int_equal(system(command), 0);
	free(command);
	free(folder);
	free(path);
	return 0;
}

/* Adds minutes [from, to) to what will be written. */
static void plan(int64_t from, int64_t to, int which)
{
	for (int64_t end = from + 60; end <= to; end += 60, count++) {
		assert_true(count < MOST);
		written[count].end = end;
		written[count].which = which;
		written[count].cells[0] = made_up_cell(end, which == COOL ? 1 : 0);
		written[count].cells[1] = made_up_cell(end, 1);
	}
}

static enum archive_result write_range(size_t from, size_t to)
{
	struct archive_minute *minutes = must_calloc(to - from + 1, sizeof *minutes);

	for (size_t i = from; i < to; i++) {
		uint32_t set = 0;

		if (written[i].which & WARM)
			set |= series_bit(warm_t);
		if (written[i].which & COOL)
			set |= series_bit(cool_h);
		minutes[i - from] = (struct archive_minute){ written[i].end, set,
							     written[i].cells };
	}
	enum archive_result result = archive_update(path, rows, minutes, to - from, why);

	free(minutes);
	return result;
}

static void write_all(void)
{
	if (write_range(0, count) != ARCHIVE_WRITTEN)
		fail_msg("%s", why);
}

/* The cell of a minute, or NULL when it was not written or not yet in the
 * file (a place added counts from `since`). */
static const struct minute_cell *cell_at(int64_t end, int which, int64_t since)
{
	static size_t near;

	if (near >= count || written[near].end > end)
		near = 0;
	while (near < count && written[near].end < end)
		near++;
	if (near == count || written[near].end != end || !(written[near].which & which) ||
	    end - 60 < since)
		return NULL;
	return &written[near].cells[which == COOL && written[near].which == BOTH ? 1 : 0];
}

/* Mean of a column over the minutes of a row; shares of what was not written
 * are 0, values of it are not there. */
static double mean(int64_t end, int step, int which, enum column column, int64_t since)
{
	double sum = 0, n = 0;

	for (int64_t minute = end - step + 60; minute <= end; minute += 60) {
		const struct minute_cell none = { 0 }, *cell = cell_at(minute, which, since);
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

/* Every row of one series in [from, to), which are full hours. */
static void check_series(int64_t from, int64_t to, int which, int64_t since)
{
	struct series series = which == WARM ? warm_t : cool_h;

	for (int size = 0; size < ROW_SIZES; size++) {
		int step = row_sizes[size];
		struct rows got;

		assert_true(rows_fetch(path, "AVERAGE", step, from, to, &got));
		for (enum column column = 0; column < COLUMNS; column++)
			for (int64_t end = from + step; end <= to; end += step) {
				char ds[DS_NAME];

				ds_name(series, column, ds);
				if (end <= since && column != COLUMN_VALUE)
					assert_true(isnan(rows_at(&got, ds, end)));
				else
					compare(rows_at(&got, ds, end),
						mean(end, step, which, column, since), ds, step, end);
			}
		rows_free(&got);
	}
}

static void exact_from_the_hour_before_it_begins(void **state)
{
	(void)state;
	plan(midnight + 23 * 60, midnight + 5 * 3600, BOTH);
	write_all();
	check_series(midnight, midnight + 5 * 3600, WARM, 0);
	check_series(midnight, midnight + 5 * 3600, COOL, 0);
	struct archive_head head;

	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	assert_int_equal(head.last, midnight + 5 * 3600);
	assert_int_equal(head.ds_count, 2 * COLUMNS);
	archive_head_free(&head);
}

static void a_file_that_begins_on_the_hour(void **state)
{
	(void)state;
	plan(midnight, midnight + 3600, WARM);
	write_all();
	check_series(midnight, midnight + 3600, WARM, 0);
}

static void holes_are_zeros_without_a_value(void **state)
{
	(void)state;
	plan(midnight + 420, midnight + 3000, BOTH);
	plan(midnight + 3060, midnight + 3540, BOTH);   /* a minute */
	plan(midnight + 5520, midnight + 9000, BOTH);   /* over an hour's end */
	plan(midnight + 2 * 86400 + 660, midnight + 2 * 86400 + 7200, BOTH);
	write_all();
	check_series(midnight, midnight + 2 * 86400 + 7200, WARM, 0);
	check_series(midnight, midnight + 2 * 86400 + 7200, COOL, 0);
}

/* The same file whether it came in one call or in many. */
static void small_batches_give_the_same(void **state)
{
	(void)state;
	plan(midnight + 420, midnight + 7000 / 60 * 60, BOTH);
	plan(midnight + 8400, midnight + 4 * 3600, BOTH);
	for (size_t i = 0; i < count;) {
		size_t next = i + 1 + i % 7;

		if (next > count)
			next = count;
		assert_int_equal(write_range(i, next), ARCHIVE_WRITTEN);
		i = next;
	}
	check_series(midnight, midnight + 4 * 3600, WARM, 0);
}

static void extremes_are_of_minute_means(void **state)
{
	(void)state;
	char ds[DS_NAME];

	plan(midnight, midnight + 7200, WARM);
	write_all();
	for (int size = 1; size < ROW_SIZES; size++) {
		int step = row_sizes[size];
		struct rows low, high;

		assert_true(rows_fetch(path, "MIN", step, midnight, midnight + 7200, &low));
		assert_true(rows_fetch(path, "MAX", step, midnight, midnight + 7200, &high));
		for (int64_t end = midnight + step; end <= midnight + 7200; end += step) {
			double least = INFINITY, most = -INFINITY;

			for (int64_t minute = end - step + 60; minute <= end; minute += 60) {
				const struct minute_cell *cell = cell_at(minute, WARM, 0);

				if (cell->ok > 0) {
					least = fmin(least, cell->value);
					most = fmax(most, cell->value);
				}
			}
			ds_name(warm_t, COLUMN_VALUE, ds);
			assert_near(rows_at(&low, ds, end), least, 1e-10);
			assert_near(rows_at(&high, ds, end), most, 1e-10);
		}
		rows_free(&low);
		rows_free(&high);
	}
}

static char *contents(const char *of, size_t *size)
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

static void minutes_sent_again_change_nothing(void **state)
{
	(void)state;
	size_t before_size, after_size;

	plan(midnight + 420, midnight + 7200, BOTH);
	write_all();
	char *before = contents(path, &before_size);

	write_all();
	assert_int_equal(write_range(30, 60), ARCHIVE_WRITTEN);
	char *after = contents(path, &after_size);

	assert_int_equal(before_size, after_size);
	assert_memory_equal(before, after, before_size);
	free(before);
	free(after);
}

static void a_place_is_added_at_the_next_hour(void **state)
{
	(void)state;
	int64_t hour = midnight + 3 * 3600;

	plan(midnight + 420, midnight + 9000, WARM);
	plan(midnight + 9000, midnight + 6 * 3600, BOTH);
	write_all();
	check_series(midnight, midnight + 6 * 3600, WARM, 0);
	check_series(midnight, midnight + 6 * 3600, COOL, hour);
}

static void a_place_is_added_across_a_hole(void **state)
{
	(void)state;
	plan(midnight + 420, midnight + 9000, WARM);
	plan(midnight + 9000, midnight + 9600, BOTH);
	plan(midnight + 4 * 3600 + 1260, midnight + 6 * 3600, BOTH);
	write_all();
	check_series(midnight, midnight + 6 * 3600, WARM, 0);
	check_series(midnight, midnight + 6 * 3600, COOL, midnight + 3 * 3600);
}

/* To the bit, in every row of every set the file has. */
static void a_place_added_leaves_history_alone(void **state)
{
	(void)state;
	static const struct { const char *function; int step; } sets[] = {
		{ "AVERAGE", 60 }, { "AVERAGE", 600 }, { "AVERAGE", 3600 },
		{ "MIN", 600 }, { "MIN", 3600 }, { "MAX", 600 }, { "MAX", 3600 },
	};
	enum { SETS = sizeof sets / sizeof *sets };
	int64_t from = midnight, to = midnight + 4 * 86400 - 3600;
	struct rows before[SETS], after;

	plan(from + 420, to, WARM);
	write_all();
	for (int i = 0; i < SETS; i++)
		assert_true(rows_fetch(path, sets[i].function, sets[i].step, from, to, &before[i]));
	plan(to, to + 60, BOTH);
	write_all();
	for (int i = 0; i < SETS; i++) {
		assert_true(rows_fetch(path, sets[i].function, sets[i].step, from, to, &after));
		for (size_t j = 0; j < before[i].ds_count; j++)
			for (int64_t end = from + sets[i].step; end <= to; end += sets[i].step) {
				double was = rows_at(&before[i], before[i].names[j], end);
				double is = rows_at(&after, before[i].names[j], end);

				assert_memory_equal(&was, &is, sizeof is);
			}
		assert_int_equal(after.ds_count, before[i].ds_count + COLUMNS);
		rows_free(&before[i]);
		rows_free(&after);
	}
}

static void a_place_gone_is_blank_and_may_come_back(void **state)
{
	(void)state;
	plan(midnight, midnight + 5400, BOTH);
	plan(midnight + 5400, midnight + 9000, WARM);
	plan(midnight + 9000, midnight + 10200, COOL);
	plan(midnight + 10200, midnight + 4 * 3600, BOTH);
	write_all();
	check_series(midnight, midnight + 4 * 3600, WARM, 0);
	check_series(midnight, midnight + 4 * 3600, COOL, 0);
}

static void other_row_counts_are_kept(void **state)
{
	(void)state;
	uint64_t others[ROW_SIZES] = { 100, 50, 20 };
	struct archive_head before, after;

	plan(midnight, midnight + 7200, WARM);
	struct archive_minute first = { written[0].end, series_bit(warm_t), written[0].cells };

	assert_int_equal(archive_update(path, others, &first, 1, why), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(path, &before, why), HEAD_GOOD);
	write_all();
	assert_int_equal(archive_head_read(path, &after, why), HEAD_GOOD);
	assert_int_equal(before.size, after.size);
	assert_int_equal(after.last, midnight + 7200);
	check_series(midnight + 3600, midnight + 7200, WARM, 0);
	archive_head_free(&before);
	archive_head_free(&after);
}

/* ---- undoing ------------------------------------------------------------- */

/* Leaves the file as a kill in the midst of minutes [from, to) may: updated,
 * and its old head beside it. */
static void cut_short(size_t from, size_t to)
{
	struct archive_head head;

	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	assert_int_equal(write_range(from, to), ARCHIVE_WRITTEN);
	assert_true(archive_head_save(path, &head, why));
	archive_head_free(&head);
}

static bool head_is_there(void)
{
	char *beside = must_print("%s.head", path);
	bool there = access(beside, F_OK) == 0;

	free(beside);
	return there;
}

static void a_saved_head_undoes_a_batch(void **state)
{
	(void)state;
	struct archive_head head;
	size_t size, again;

	plan(midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(write_range(0, 100), ARCHIVE_WRITTEN);
	cut_short(100, count);
	char *straight = contents(path, &size);

	assert_true(archive_head_restore(path, why));
	assert_false(head_is_there());
	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	assert_int_equal(head.last, written[99].end);
	archive_head_free(&head);
	write_all();
	char *twice = contents(path, &again);

	assert_int_equal(size, again);
	assert_memory_equal(straight, twice, size);
	check_series(midnight, midnight + 4 * 3600, WARM, 0);
	free(straight);
	free(twice);
}

/* The rows' pointers moved and the time did not: what a kill really leaves. */
static void moved_pointers_are_put_back(void **state)
{
	(void)state;
	plan(midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(write_range(0, 100), ARCHIVE_WRITTEN);
	struct archive_head head;

	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	assert_true(archive_head_save(path, &head, why));
	int fd = open(path, O_RDWR);
	uint64_t row;
	off_t at = (off_t)head.size - 7 * (off_t)sizeof row;

	assert_int_equal(pread(fd, &row, sizeof row, at), sizeof row);
	row = (row + 3) % DAYS_60;
	assert_int_equal(pwrite(fd, &row, sizeof row, at), sizeof row);
	close(fd);
	archive_head_free(&head);
	write_all();
	assert_false(head_is_there());
	check_series(midnight, midnight + 4 * 3600, WARM, 0);
}

static void a_torn_saved_head_is_dropped(void **state)
{
	(void)state;
	char *beside = must_print("%s.head", path);
	struct stat whole;

	plan(midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(write_range(0, 100), ARCHIVE_WRITTEN);
	cut_short(100, 150);
	assert_int_equal(stat(beside, &whole), 0);
	for (off_t size = whole.st_size - 1; size >= 0; size -= 997) {
		assert_int_equal(truncate(beside, size), 0);
		assert_true(archive_head_restore(path, why));
		assert_false(head_is_there());
		cut_short(100, 150);
	}
	assert_int_equal(truncate(beside, 5000), 0);
	write_all();
	check_series(midnight, midnight + 4 * 3600, COOL, 0);
	free(beside);
}

static void a_saved_head_of_another_layout_is_dropped(void **state)
{
	(void)state;
	struct archive_head head;

	plan(midnight, midnight + 7200, WARM);
	assert_int_equal(write_range(0, 60), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	count = 60;
	plan(midnight + 3600, midnight + 7200, BOTH);
	write_all();
	assert_true(archive_head_save(path, &head, why));
	archive_head_free(&head);
	write_all();
	assert_false(head_is_there());
	check_series(midnight, midnight + 7200, WARM, 0);
	check_series(midnight, midnight + 7200, COOL, midnight + 3600);
}

/* ---- damaged files ------------------------------------------------------- */

static void fill_file(off_t from, size_t size, int byte)
{
	char *bytes = must_calloc(size, 1);
	int fd = open(path, O_RDWR | O_CREAT, 0644);

	memset(bytes, byte, size);
	assert_true(fd >= 0);
	assert_int_equal(pwrite(fd, bytes, size, from), (ssize_t)size);
	close(fd);
	free(bytes);
}

/* The file is refused, set aside with its bytes, and the next one is good. */
static void refused_and_begun_anew(const char *reason)
{
	size_t before_size, after_size;
	char *before = contents(path, &before_size);

	assert_int_equal(write_range(0, count), ARCHIVE_DAMAGED);
	if (!strstr(why, reason))
		fail_msg("\"%s\" does not say \"%s\"", why, reason);
	char *aside = archive_set_aside(path, midnight, why);

	assert_non_null(aside);
	assert_non_null(strstr(aside, "/E1.rrd.damaged-20260105T000000Z"));
	char *after = contents(aside, &after_size);

	assert_int_equal(before_size, after_size);
	assert_memory_equal(before, after, before_size);
	write_all();
	check_series(midnight, midnight + 7200, WARM, 0);
	assert_int_equal(unlink(path), 0);
	free(before);
	free(after);
	free(aside);
}

static void damaged_files_are_refused(void **state)
{
	(void)state;
	struct archive_head head;

	plan(midnight, midnight + 7200, WARM);
	fill_file(0, 0, 0);
	refused_and_begun_anew("empty");
	fill_file(0, 100000, 0);
	refused_and_begun_anew("no round-robin archive");
	fill_file(0, 60, 'x');
	refused_and_begun_anew("cut short");
	fill_file(0, 6000, 'x');
	refused_and_begun_anew("no round-robin archive");
	write_all();
	assert_int_equal(truncate(path, 20000), 0);
	refused_and_begun_anew("cut short");
	write_all();
	assert_int_equal(truncate(path, 900), 0);
	refused_and_begun_anew("cut short");
	write_all();
	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	assert_int_equal(truncate(path, (off_t)head.size - 8), 0);
	archive_head_free(&head);
	refused_and_begun_anew("cut short");
	write_all();
	fill_file(0, 4096, 0);
	refused_and_begun_anew("no round-robin archive");
}

static void another_step_is_refused(void **state)
{
	(void)state;
	char *command = must_print("rrdtool create '%s' -s 300 DS:a:GAUGE:600:U:U "
				   "RRA:AVERAGE:0.5:1:1000", path);

	plan(midnight, midnight + 7200, WARM);
	if (system("command -v rrdtool >/dev/null") != 0)
		skip();
	assert_int_equal(system(command), 0);
	refused_and_begun_anew("step");
	free(command);
}

/* reference: overwriting each eight-byte word of a head in turn made librrd
 * 1.7.2 die by SIGFPE and SIGSEGV; none may do so behind the check. */
static void no_damaged_word_kills(void **state)
{
	(void)state;
	static const uint64_t patterns[] = { 0, UINT64_MAX, 0x4242424242424242, 1 };
	enum { PATTERNS = sizeof patterns / sizeof *patterns };
	struct archive_head head;
	size_t size, refused = 0;

	plan(midnight, midnight + 7200, WARM);
	assert_int_equal(write_range(0, 30), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	char *whole = contents(path, &size);

	for (size_t at = 0; at < head.size; at += sizeof *patterns)
		for (int i = 0; i < PATTERNS; i++) {
			int fd = open(path, O_RDWR), status;

			assert_int_equal(pwrite(fd, whole, head.size, 0), (ssize_t)head.size);
			assert_int_equal(pwrite(fd, &patterns[i], sizeof *patterns, (off_t)at),
					 sizeof *patterns);
			close(fd);
			pid_t pid = fork();

			if (pid == 0)
				_exit(write_range(0, count) == ARCHIVE_DAMAGED ? 7 : 0);
			assert_int_equal(waitpid(pid, &status, 0), pid);
			if (WIFSIGNALED(status))
				fail_msg("0x%llx at byte %zu: signal %d",
					 (unsigned long long)patterns[i], at, WTERMSIG(status));
			refused += WEXITSTATUS(status) == 7;
		}
	print_message("%zu of %zu damaged heads refused\n", refused,
		      head.size / sizeof *patterns * PATTERNS);
	assert_true(refused > 50);
	archive_head_free(&head);
	free(whole);
}

static void files_set_aside_in_one_second_are_all_kept(void **state)
{
	(void)state;
	char *names[3];

	for (int i = 0; i < 3; i++) {
		fill_file(0, 10 + (size_t)i, 'x');
		names[i] = archive_set_aside(path, midnight, why);
		assert_non_null(names[i]);
	}
	for (int i = 0; i < 3; i++) {
		struct stat aside;

		assert_int_equal(stat(names[i], &aside), 0);
		assert_int_equal(aside.st_size, 10 + i);
		free(names[i]);
	}
	assert_null(archive_set_aside(path, midnight, why));
	assert_non_null(strstr(why, "set it aside"));
}

static void holes_in_the_file_are_filled(void **state)
{
	(void)state;
	struct stat sparse, filled;
	struct archive_head head;

	plan(midnight, midnight + 7200, WARM);
	assert_int_equal(write_range(0, 10), ARCHIVE_WRITTEN);
	assert_int_equal(stat(path, &filled), 0);
	int fd = open(path, O_RDWR);

	if (fallocate(fd, FALLOC_FL_PUNCH_HOLE | FALLOC_FL_KEEP_SIZE, 65536,
		      filled.st_size / 2) < 0)
		skip();
	close(fd);
	assert_int_equal(stat(path, &sparse), 0);
	assert_true(sparse.st_blocks < filled.st_blocks);
	assert_int_equal(archive_head_read(path, &head, why), HEAD_GOOD);
	archive_head_free(&head);
	assert_int_equal(stat(path, &sparse), 0);
	assert_true(sparse.st_blocks >= filled.st_blocks);
}

/* ---- others at the file -------------------------------------------------- */

static void a_reader_is_waited_for(void **state)
{
	(void)state;
	int ready[2];
	char byte = 0;

	plan(midnight, midnight + 7200, WARM);
	assert_int_equal(write_range(0, 10), ARCHIVE_WRITTEN);
	assert_int_equal(pipe(ready), 0);
	pid_t pid = fork();

	if (pid == 0) {
		struct flock lock = { .l_type = F_RDLCK, .l_whence = SEEK_SET };
		int fd = open(path, O_RDWR);

		if (fcntl(fd, F_SETLK, &lock) < 0 || write(ready[1], &byte, 1) != 1)
			_exit(1);
		usleep(300000); /* the archive is being read for so long */
		_exit(0);
	}
	assert_int_equal(read(ready[0], &byte, 1), 1);
	write_all();
	check_series(midnight, midnight + 7200, WARM, 0);
	assert_int_equal(waitpid(pid, NULL, 0), pid);
	close(ready[0]);
	close(ready[1]);
}

static void a_folder_that_is_not_there_is_no_damage(void **state)
{
	(void)state;
	char *right = path;

	plan(midnight, midnight + 3600, WARM);
	path = must_print("%s/nowhere/E1.rrd", folder);
	assert_int_equal(write_range(0, count), ARCHIVE_FAILED);
	assert_true(*why);
	free(path);
	path = right;
}

#define each(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		each(exact_from_the_hour_before_it_begins),
		each(a_file_that_begins_on_the_hour),
		each(holes_are_zeros_without_a_value),
		each(small_batches_give_the_same),
		each(extremes_are_of_minute_means),
		each(minutes_sent_again_change_nothing),
		each(a_place_is_added_at_the_next_hour),
		each(a_place_is_added_across_a_hole),
		each(a_place_added_leaves_history_alone),
		each(a_place_gone_is_blank_and_may_come_back),
		each(other_row_counts_are_kept),
		each(a_saved_head_undoes_a_batch),
		each(moved_pointers_are_put_back),
		each(a_torn_saved_head_is_dropped),
		each(a_saved_head_of_another_layout_is_dropped),
		each(damaged_files_are_refused),
		each(another_step_is_refused),
		each(no_damaged_word_kills),
		each(files_set_aside_in_one_second_are_all_kept),
		each(holes_in_the_file_are_filled),
		each(a_reader_is_waited_for),
		each(a_folder_that_is_not_there_is_no_damage),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
