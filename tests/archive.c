/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands in the round-robin files, read back at every row size: the
 * hour they begin on, holes, places added and gone, readers in the way.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/archive_truth.h"
#include "tests/rows.h"

static void exact_from_the_hour_before_it_begins(void **state)
{
	struct truth *t = *state;
	truth_plan(t, midnight + 23 * 60, midnight + 5 * 3600, BOTH);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 5 * 3600, WARM, 0);
	truth_check(t, midnight, midnight + 5 * 3600, COOL, 0);
	struct archive_head head;

	assert_int_equal(archive_head_read(t->path, &head, t->why), HEAD_GOOD);
	assert_int_equal(head.last, midnight + 5 * 3600);
	assert_int_equal(head.ds_count, 2 * COLUMNS);
	archive_head_free(&head);
}

static void a_file_that_begins_on_the_hour(void **state)
{
	struct truth *t = *state;
	truth_plan(t, midnight, midnight + 3600, WARM);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 3600, WARM, 0);
}

static void holes_are_zeros_without_a_value(void **state)
{
	struct truth *t = *state;
	truth_plan(t, midnight + 420, midnight + 3000, BOTH);
	truth_plan(t, midnight + 3060, midnight + 3540, BOTH);   /* a minute */
	truth_plan(t, midnight + 5520, midnight + 9000, BOTH);   /* over an hour's end */
	truth_plan(t, midnight + 2 * 86400 + 660, midnight + 2 * 86400 + 7200, BOTH);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 2 * 86400 + 7200, WARM, 0);
	truth_check(t, midnight, midnight + 2 * 86400 + 7200, COOL, 0);
}

/* The same file whether it came in one call or in many. */
static void small_batches_give_the_same(void **state)
{
	struct truth *t = *state;
	truth_plan(t, midnight + 420, midnight + 7000 / 60 * 60, BOTH);
	truth_plan(t, midnight + 8400, midnight + 4 * 3600, BOTH);
	for (size_t i = 0; i < t->count;) {
		size_t next = i + 1 + i % 7;

		if (next > t->count)
			next = t->count;
		assert_int_equal(truth_write(t, i, next), ARCHIVE_WRITTEN);
		i = next;
	}
	truth_check(t, midnight, midnight + 4 * 3600, WARM, 0);
}

static void extremes_are_of_minute_means(void **state)
{
	struct truth *t = *state;
	char ds[DS_NAME];

	truth_plan(t, midnight, midnight + 7200, WARM);
	truth_write_all(t);
	for (int size = 1; size < ROW_SIZES; size++) {
		int step = row_sizes[size];
		struct rows low, high;

		assert_true(rows_fetch(t->path, "MIN", step, midnight, midnight + 7200, &low));
		assert_true(rows_fetch(t->path, "MAX", step, midnight, midnight + 7200, &high));
		for (int64_t end = midnight + step; end <= midnight + 7200; end += step) {
			double least = INFINITY, most = -INFINITY;

			for (int64_t minute = end - step + 60; minute <= end; minute += 60) {
				const struct minute_cell *cell = truth_cell(t, minute, WARM, 0);

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

static void minutes_sent_again_change_nothing(void **state)
{
	struct truth *t = *state;
	size_t before_size, after_size;

	truth_plan(t, midnight + 420, midnight + 7200, BOTH);
	truth_write_all(t);
	char *before = truth_contents(t->path, &before_size);

	truth_write_all(t);
	assert_int_equal(truth_write(t, 30, 60), ARCHIVE_WRITTEN);
	char *after = truth_contents(t->path, &after_size);

	assert_int_equal(before_size, after_size);
	assert_memory_equal(before, after, before_size);
	free(before);
	free(after);
}

static void a_place_is_added_at_the_next_hour(void **state)
{
	struct truth *t = *state;
	int64_t hour = midnight + 3 * 3600;

	truth_plan(t, midnight + 420, midnight + 9000, WARM);
	truth_plan(t, midnight + 9000, midnight + 6 * 3600, BOTH);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 6 * 3600, WARM, 0);
	truth_check(t, midnight, midnight + 6 * 3600, COOL, hour);
}

static void a_place_is_added_across_a_hole(void **state)
{
	struct truth *t = *state;
	truth_plan(t, midnight + 420, midnight + 9000, WARM);
	truth_plan(t, midnight + 9000, midnight + 9600, BOTH);
	truth_plan(t, midnight + 4 * 3600 + 1260, midnight + 6 * 3600, BOTH);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 6 * 3600, WARM, 0);
	truth_check(t, midnight, midnight + 6 * 3600, COOL, midnight + 3 * 3600);
}

/* To the bit, in every row of every set the file has. */
static void a_place_added_leaves_history_alone(void **state)
{
	struct truth *t = *state;
	static const struct { const char *function; int step; } sets[] = {
		{ "AVERAGE", 60 }, { "AVERAGE", 600 }, { "AVERAGE", 3600 },
		{ "MIN", 600 }, { "MIN", 3600 }, { "MAX", 600 }, { "MAX", 3600 },
	};
	enum { SETS = sizeof sets / sizeof *sets };
	int64_t from = midnight, to = midnight + 4 * 86400 - 3600;
	struct rows before[SETS], after;

	truth_plan(t, from + 420, to, WARM);
	truth_write_all(t);
	for (int i = 0; i < SETS; i++)
		assert_true(rows_fetch(t->path, sets[i].function, sets[i].step, from, to,
				       &before[i]));
	truth_plan(t, to, to + 60, BOTH);
	truth_write_all(t);
	for (int i = 0; i < SETS; i++) {
		assert_true(rows_fetch(t->path, sets[i].function, sets[i].step, from, to, &after));
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
	struct truth *t = *state;
	truth_plan(t, midnight, midnight + 5400, BOTH);
	truth_plan(t, midnight + 5400, midnight + 9000, WARM);
	truth_plan(t, midnight + 9000, midnight + 10200, COOL);
	truth_plan(t, midnight + 10200, midnight + 4 * 3600, BOTH);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 4 * 3600, WARM, 0);
	truth_check(t, midnight, midnight + 4 * 3600, COOL, 0);
}

static void other_row_counts_are_kept(void **state)
{
	struct truth *t = *state;
	uint64_t others[ROW_SIZES] = { 100, 50, 20 };
	struct archive_head before, after;

	truth_plan(t, midnight, midnight + 7200, WARM);
	struct archive_minute first = { t->written[0].end, series_bit(warm_t),
					t->written[0].cells };

	assert_int_equal(archive_update(t->path, others, &first, 1, t->why), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(t->path, &before, t->why), HEAD_GOOD);
	truth_write_all(t);
	assert_int_equal(archive_head_read(t->path, &after, t->why), HEAD_GOOD);
	assert_int_equal(before.size, after.size);
	assert_int_equal(after.last, midnight + 7200);
	truth_check(t, midnight + 3600, midnight + 7200, WARM, 0);
	archive_head_free(&before);
	archive_head_free(&after);
}

static void a_reader_is_waited_for(void **state)
{
	struct truth *t = *state;
	int ready[2];
	char byte = 0;

	truth_plan(t, midnight, midnight + 7200, WARM);
	assert_int_equal(truth_write(t, 0, 10), ARCHIVE_WRITTEN);
	assert_int_equal(pipe(ready), 0);
	pid_t pid = fork();

	if (pid == 0) {
		struct flock lock = { .l_type = F_RDLCK, .l_whence = SEEK_SET };
		int fd = open(t->path, O_RDWR);

		if (fcntl(fd, F_SETLK, &lock) < 0 || write(ready[1], &byte, 1) != 1)
			_exit(1);
		usleep(300000); /* the archive is being read for so long */
		_exit(0);
	}
	assert_int_equal(read(ready[0], &byte, 1), 1);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 7200, WARM, 0);
	assert_int_equal(waitpid(pid, NULL, 0), pid);
	close(ready[0]);
	close(ready[1]);
}

static void a_folder_that_is_not_there_is_no_damage(void **state)
{
	struct truth *t = *state;
	char *right = t->path;

	truth_plan(t, midnight, midnight + 3600, WARM);
	t->path = must_print("%s/nowhere/E1.rrd", t->folder);
	assert_int_equal(truth_write(t, 0, t->count), ARCHIVE_FAILED);
	assert_true(*t->why);
	free(t->path);
	t->path = right;
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		with_truth(exact_from_the_hour_before_it_begins),
		with_truth(a_file_that_begins_on_the_hour),
		with_truth(holes_are_zeros_without_a_value),
		with_truth(small_batches_give_the_same),
		with_truth(extremes_are_of_minute_means),
		with_truth(minutes_sent_again_change_nothing),
		with_truth(a_place_is_added_at_the_next_hour),
		with_truth(a_place_is_added_across_a_hole),
		with_truth(a_place_added_leaves_history_alone),
		with_truth(a_place_gone_is_blank_and_may_come_back),
		with_truth(other_row_counts_are_kept),
		with_truth(a_reader_is_waited_for),
		with_truth(a_folder_that_is_not_there_is_no_damage),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
