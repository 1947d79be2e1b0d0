/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Updates of an archive that were cut short are undone and done again.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/archive_truth.h"

/* Leaves the file as a kill in the midst of minutes [from, to) may: updated,
 * and its old head beside it. */
static void cut_short(struct truth *t, size_t from, size_t to)
{
	struct archive_head head;

	assert_int_equal(archive_head_read(t->path, &head, t->why), HEAD_GOOD);
	assert_int_equal(truth_write(t, from, to), ARCHIVE_WRITTEN);
	assert_true(archive_head_save(t->path, &head, t->why));
	archive_head_free(&head);
}

static bool head_is_there(struct truth *t)
{
	char *beside = must_print("%s.head", t->path);
	bool there = access(beside, F_OK) == 0;

	free(beside);
	return there;
}

static void a_saved_head_undoes_a_batch(void **state)
{
	struct truth *t = *state;
	struct archive_head head;
	size_t size, again;

	truth_plan(t, midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(truth_write(t, 0, 100), ARCHIVE_WRITTEN);
	cut_short(t, 100, t->count);
	char *straight = truth_contents(t->path, &size);

	assert_true(archive_head_restore(t->path, t->why));
	assert_false(head_is_there(t));
	assert_int_equal(archive_head_read(t->path, &head, t->why), HEAD_GOOD);
	assert_int_equal(head.last, t->written[99].end);
	archive_head_free(&head);
	truth_write_all(t);
	char *twice = truth_contents(t->path, &again);

	assert_int_equal(size, again);
	assert_memory_equal(straight, twice, size);
	truth_check(t, midnight, midnight + 4 * 3600, WARM, 0);
	free(straight);
	free(twice);
}

/* The rows' pointers moved and the time did not: what a kill really leaves. */
static void moved_pointers_are_put_back(void **state)
{
	struct truth *t = *state;
	truth_plan(t, midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(truth_write(t, 0, 100), ARCHIVE_WRITTEN);
	struct archive_head head;

	assert_int_equal(archive_head_read(t->path, &head, t->why), HEAD_GOOD);
	assert_true(archive_head_save(t->path, &head, t->why));
	int fd = open(t->path, O_RDWR);
	uint64_t row;
	off_t at = (off_t)head.size - 7 * (off_t)sizeof row;

	assert_int_equal(pread(fd, &row, sizeof row, at), sizeof row);
	row = (row + 3) % DAYS_60;
	assert_int_equal(pwrite(fd, &row, sizeof row, at), sizeof row);
	close(fd);
	archive_head_free(&head);
	truth_write_all(t);
	assert_false(head_is_there(t));
	truth_check(t, midnight, midnight + 4 * 3600, WARM, 0);
}

static void a_torn_saved_head_is_dropped(void **state)
{
	struct truth *t = *state;
	char *beside = must_print("%s.head", t->path);
	struct stat whole;

	truth_plan(t, midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(truth_write(t, 0, 100), ARCHIVE_WRITTEN);
	cut_short(t, 100, 150);
	assert_int_equal(stat(beside, &whole), 0);
	for (off_t size = whole.st_size - 1; size >= 0; size -= 997) {
		assert_int_equal(truncate(beside, size), 0);
		assert_true(archive_head_restore(t->path, t->why));
		assert_false(head_is_there(t));
		cut_short(t, 100, 150);
	}
	assert_int_equal(truncate(beside, 5000), 0);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 4 * 3600, COOL, 0);
	free(beside);
}

static void a_saved_head_of_another_layout_is_dropped(void **state)
{
	struct truth *t = *state;
	struct archive_head head;

	truth_plan(t, midnight, midnight + 7200, WARM);
	assert_int_equal(truth_write(t, 0, 60), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(t->path, &head, t->why), HEAD_GOOD);
	t->count = 60;
	truth_plan(t, midnight + 3600, midnight + 7200, BOTH);
	truth_write_all(t);
	assert_true(archive_head_save(t->path, &head, t->why));
	archive_head_free(&head);
	truth_write_all(t);
	assert_false(head_is_there(t));
	truth_check(t, midnight, midnight + 7200, WARM, 0);
	truth_check(t, midnight, midnight + 7200, COOL, midnight + 3600);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		with_truth(a_saved_head_undoes_a_batch),
		with_truth(moved_pointers_are_put_back),
		with_truth(a_torn_saved_head_is_dropped),
		with_truth(a_saved_head_of_another_layout_is_dropped),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
