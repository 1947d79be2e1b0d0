/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stands in the round-robin files, read back at every row size: the
 * hour they begin on, holes, places added and gone.
 */
#include "tests/cm.h"

#include "tests/archive_case.h"
#include "tests/archive_update.h"
#include "tests/rows.h"

static void exact_from_the_hour_before_it_begins(void **state)
{
	(void)state;
	case_plan(midnight + 23 * 60, midnight + 5 * 3600, BOTH);
	case_write_all();
	case_check(midnight, midnight + 5 * 3600, WARM, 0);
	case_check(midnight, midnight + 5 * 3600, COOL, 0);
	struct archive_head head;

	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	assert_int_equal(head.last, midnight + 5 * 3600);
	assert_int_equal(head.ds_count, 2 * COLUMNS);
	archive_head_free(&head);
}

static void a_file_that_begins_on_the_hour(void **state)
{
	(void)state;
	case_plan(midnight, midnight + 3600, WARM);
	case_write_all();
	case_check(midnight, midnight + 3600, WARM, 0);
}

static void holes_are_zeros_without_a_value(void **state)
{
	(void)state;
	case_plan(midnight + 420, midnight + 3000, BOTH);
	case_plan(midnight + 3060, midnight + 3540, BOTH); /* a minute */
	case_plan(midnight + 5520, midnight + 9000, BOTH); /* over an hour's end */
	case_plan(midnight + 2 * 86400 + 660, midnight + 2 * 86400 + 7200, BOTH);
	case_write_all();
	case_check(midnight, midnight + 2 * 86400 + 7200, WARM, 0);
	case_check(midnight, midnight + 2 * 86400 + 7200, COOL, 0);
}

/* The same file whether it came in one call or in many. */
static void small_batches_give_the_same(void **state)
{
	(void)state;
	case_plan(midnight + 420, midnight + 7000 / 60 * 60, BOTH);
	case_plan(midnight + 8400, midnight + 4 * 3600, BOTH);
	for (size_t i = 0; i < it.count;) {
		size_t next = i + 1 + i % 7;

		if (next > it.count)
			next = it.count;
		assert_int_equal(case_write(i, next), ARCHIVE_WRITTEN);
		i = next;
	}
	case_check(midnight, midnight + 4 * 3600, WARM, 0);
}

static void extremes_are_of_minute_means(void **state)
{
	(void)state;
	char ds[DS_NAME];

	case_plan(midnight, midnight + 7200, WARM);
	case_write_all();
	for (int size = 1; size < ROW_SIZES; size++) {
		int step = row_sizes[size];
		struct rows low, high;

		assert_true(rows_fetch(it.path, "MIN", step, midnight, midnight + 7200, &low));
		assert_true(rows_fetch(it.path, "MAX", step, midnight, midnight + 7200, &high));
		for (int64_t end = midnight + step; end <= midnight + 7200; end += step) {
			double least = INFINITY, most = -INFINITY;

			for (int64_t minute = end - step + 60; minute <= end; minute += 60) {
				const struct minute_cell *cell = case_cell(minute, WARM, 0);

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
	(void)state;
	size_t before_size, after_size;

	case_plan(midnight + 420, midnight + 7200, BOTH);
	case_write_all();
	char *before = case_contents(it.path, &before_size);

	case_write_all();
	assert_int_equal(case_write(30, 60), ARCHIVE_WRITTEN);
	char *after = case_contents(it.path, &after_size);

	assert_int_equal(before_size, after_size);
	assert_memory_equal(before, after, before_size);
	free(before);
	free(after);
}

static void a_place_is_added_at_the_next_hour(void **state)
{
	(void)state;
	int64_t hour = midnight + 3 * 3600;

	case_plan(midnight + 420, midnight + 9000, WARM);
	case_plan(midnight + 9000, midnight + 6 * 3600, BOTH);
	case_write_all();
	case_check(midnight, midnight + 6 * 3600, WARM, 0);
	case_check(midnight, midnight + 6 * 3600, COOL, hour);
}

static void a_place_is_added_across_a_hole(void **state)
{
	(void)state;
	case_plan(midnight + 420, midnight + 9000, WARM);
	case_plan(midnight + 9000, midnight + 9600, BOTH);
	case_plan(midnight + 4 * 3600 + 1260, midnight + 6 * 3600, BOTH);
	case_write_all();
	case_check(midnight, midnight + 6 * 3600, WARM, 0);
	case_check(midnight, midnight + 6 * 3600, COOL, midnight + 3 * 3600);
}

/* To the bit, in every row of every set the file has. */
static void a_place_added_leaves_history_alone(void **state)
{
	(void)state;
	static const struct {
		const char *function;
		int step;
	} sets[] = {
		{ "AVERAGE", 60 }, { "AVERAGE", 600 }, { "AVERAGE", 3600 }, { "MIN", 600 },
		{ "MIN", 3600 },   { "MAX", 600 },     { "MAX", 3600 },
	};
	enum { SETS = sizeof sets / sizeof *sets };
	int64_t from = midnight, to = midnight + 4 * 86400 - 3600;
	struct rows before[SETS], after;

	case_plan(from + 420, to, WARM);
	case_write_all();
	for (int i = 0; i < SETS; i++)
		assert_true(
			rows_fetch(it.path, sets[i].function, sets[i].step, from, to, &before[i]));
	case_plan(to, to + 60, BOTH);
	case_write_all();
	for (int i = 0; i < SETS; i++) {
		assert_true(rows_fetch(it.path, sets[i].function, sets[i].step, from, to, &after));
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
	case_plan(midnight, midnight + 5400, BOTH);
	case_plan(midnight + 5400, midnight + 9000, WARM);
	case_plan(midnight + 9000, midnight + 10200, COOL);
	case_plan(midnight + 10200, midnight + 4 * 3600, BOTH);
	case_write_all();
	case_check(midnight, midnight + 4 * 3600, WARM, 0);
	case_check(midnight, midnight + 4 * 3600, COOL, 0);
}

static void other_row_counts_are_kept(void **state)
{
	(void)state;
	uint64_t others[ROW_SIZES] = { 100, 50, 20 };
	struct archive_head before, after;

	case_plan(midnight, midnight + 7200, WARM);
	struct archive_minute first = { it.minutes[0].end, series_bit(warm_t),
					it.minutes[0].cells };

	assert_int_equal(archive_update(it.path, others, &first, 1, it.why), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(it.path, &before, it.why), HEAD_GOOD);
	case_write_all();
	assert_int_equal(archive_head_read(it.path, &after, it.why), HEAD_GOOD);
	assert_int_equal(before.size, after.size);
	assert_int_equal(after.last, midnight + 7200);
	case_check(midnight + 3600, midnight + 7200, WARM, 0);
	archive_head_free(&before);
	archive_head_free(&after);
}

#define each(test) cmocka_unit_test_setup_teardown(test, case_set_up, case_tear_down)

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
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
