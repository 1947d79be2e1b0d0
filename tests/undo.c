/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The undo file: updates cut short and undone, and what becomes of it when it is torn,
 * cannot be written, or holds what cannot be put back.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/undo.h"
#include "tests/archive_case.h"

/* Its head as it is now goes into the undo file. */
static void keep_head(void)
{
	struct archive_head head;
	struct undo undo;

	assert_true(undo_open(&undo, it.folder, it.why));
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	undo_forget(&undo, "E1");
	undo_add(&undo, "E1", &head);
	assert_true(undo_write(&undo, false, it.why));
	undo_close(&undo);
	archive_head_free(&head);
}

/* Leaves the file as a kill in the midst of minutes [from, to) may: updated,
 * and its old head in the undo file. */
static void cut_short(size_t from, size_t to)
{
	keep_head();
	assert_int_equal(case_write(from, to), ARCHIVE_WRITTEN);
}

/* As the archivist does at its start; returns how many heads there were. */
static size_t put_all_back(void)
{
	size_t count = 0;
	struct undo undo;

	assert_true(undo_open(&undo, it.folder, it.why));
	for (; undo_name(&undo, 0); count++)
		assert_true(undo_put_back(&undo, undo_name(&undo, 0), it.why));
	assert_true(undo_write(&undo, true, it.why));
	undo_close(&undo);
	return count;
}

static int64_t last_update(void)
{
	struct archive_head head;

	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	int64_t last = head.last;

	archive_head_free(&head);
	return last;
}

static void a_kept_head_undoes_a_batch(void **state)
{
	(void)state;
	size_t size, again;

	case_plan(midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(case_write(0, 100), ARCHIVE_WRITTEN);
	cut_short(100, it.count);
	char *straight = case_contents(it.path, &size);

	assert_int_equal(put_all_back(), 1);
	assert_int_equal(put_all_back(), 0);
	assert_int_equal(last_update(), it.minutes[99].end);
	case_write_all();
	char *twice = case_contents(it.path, &again);

	assert_int_equal(size, again);
	assert_memory_equal(straight, twice, size);
	case_check(midnight, midnight + 4 * 3600, WARM, 0);
	free(straight);
	free(twice);
}

/* The rows' pointers moved and the time did not: what a kill really leaves. */
static void moved_pointers_are_put_back(void **state)
{
	(void)state;
	struct archive_head head;
	uint64_t row;

	case_plan(midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(case_write(0, 100), ARCHIVE_WRITTEN);
	keep_head();
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	int fd = open(it.path, O_RDWR);
	off_t at = (off_t)head.size - 7 * (off_t)sizeof row;

	assert_int_equal(pread(fd, &row, sizeof row, at), sizeof row);
	row = (row + 3) % CASE_ROWS;
	assert_int_equal(pwrite(fd, &row, sizeof row, at), sizeof row);
	close(fd);
	archive_head_free(&head);
	assert_int_equal(put_all_back(), 1);
	case_write_all();
	case_check(midnight, midnight + 4 * 3600, WARM, 0);
}

/* Nothing had been touched yet when it was torn. */
static void a_torn_undo_file_holds_nothing(void **state)
{
	(void)state;
	char *file = must_print("%s/.undo", it.folder);
	struct stat whole;
	size_t size;

	case_plan(midnight + 420, midnight + 4 * 3600, BOTH);
	assert_int_equal(case_write(0, 100), ARCHIVE_WRITTEN);
	keep_head();
	char *good = case_contents(file, &size);

	assert_int_equal(stat(file, &whole), 0);
	for (off_t cut = whole.st_size - 1; cut >= 0; cut -= 997) {
		keep_head();
		assert_int_equal(truncate(file, cut), 0);
		assert_int_equal(put_all_back(), 0);
	}
	for (size_t at = 0; at < size; at += 8) {
		FILE *torn = fopen(file, "w");

		good[at] ^= 1;
		assert_int_equal(fwrite(good, 1, size, torn), size);
		assert_int_equal(fclose(torn), 0);
		good[at] ^= 1;
		assert_int_equal(put_all_back(), 0);
	}
	case_write_all();
	case_check(midnight, midnight + 4 * 3600, COOL, 0);
	free(good);
	free(file);
}

static void a_kept_head_of_another_layout_is_dropped(void **state)
{
	(void)state;
	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 60), ARCHIVE_WRITTEN);
	keep_head();
	it.count = 60;
	case_plan(midnight + 3600, midnight + 7200, BOTH);
	case_write_all();
	assert_int_equal(put_all_back(), 1);
	case_write_all();
	case_check(midnight, midnight + 7200, WARM, 0);
	case_check(midnight, midnight + 7200, COOL, midnight + 3600);
}

/* Somebody has put an older copy of the file there: a head from then on would not fit it. */
static void a_kept_head_newer_than_the_file_is_dropped(void **state)
{
	(void)state;
	size_t size;

	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 60), ARCHIVE_WRITTEN);
	char *old = case_contents(it.path, &size);

	assert_int_equal(case_write(60, 80), ARCHIVE_WRITTEN);
	keep_head();
	FILE *file = fopen(it.path, "w");

	assert_int_equal(fwrite(old, 1, size, file), size);
	assert_int_equal(fclose(file), 0);
	assert_int_equal(put_all_back(), 1);
	assert_int_equal(last_update(), it.minutes[59].end);
	case_write_all();
	case_check(midnight, midnight + 7200, WARM, 0);
	free(old);
}

/* Of three heads the one in the middle cannot be put back now: the others are, and it
 * stays for the next try, in the file too. */
static void what_cannot_be_put_back_stays(void **state)
{
	static const char *const names[] = { "E0", "E1", "E2" };
	char *loop = must_print("%s/E0.rrd", it.folder);
	struct archive_head head;
	struct undo undo;

	(void)state;
	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 60), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	assert_int_equal(case_write(60, 120), ARCHIVE_WRITTEN);
	assert_true(undo_open(&undo, it.folder, it.why));
	for (int i = 0; i < 3; i++)
		undo_add(&undo, names[i], &head);
	archive_head_free(&head);
	assert_int_equal(symlink(loop, loop), 0); /* nobody can open it, not even root */
	assert_false(undo_put_back(&undo, "E0", it.why));
	assert_non_null(strstr(it.why, "put its saved head back"));
	assert_true(undo_put_back(&undo, "E1", it.why));
	assert_true(undo_put_back(&undo, "E2", it.why)); /* there is no such file */
	assert_string_equal(undo_name(&undo, 0), "E0");
	assert_null(undo_name(&undo, 1));
	assert_int_equal(last_update(), it.minutes[59].end);
	assert_true(undo_write(&undo, true, it.why));
	undo_close(&undo);
	assert_int_equal(unlink(loop), 0);
	assert_int_equal(put_all_back(), 1);
	free(loop);
}

/* Where no file may have more bytes than that. */
static bool write_within(struct undo *undo, size_t most)
{
	struct rlimit before, little;

	signal(SIGXFSZ, SIG_IGN);
	assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
	little = (struct rlimit){ most, before.rlim_max };
	assert_int_equal(setrlimit(RLIMIT_FSIZE, &little), 0);
	bool written = undo_write(undo, false, it.why);

	assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
	signal(SIGXFSZ, SIG_DFL);
	return written;
}

static void an_undo_file_that_is_not_written_is_unsure(void **state)
{
	struct archive_head head;
	struct undo undo;

	(void)state;
	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 60), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	assert_true(undo_open(&undo, it.folder, it.why));
	undo_add(&undo, "E1", &head);
	assert_false(write_within(&undo, head.size / 2));
	assert_true(undo.unsure);
	assert_non_null(strstr(it.why, "cannot be saved: File too large"));
	assert_int_equal(put_all_back(), 0); /* half of it is none */
	assert_true(undo_write(&undo, true, it.why));
	assert_false(undo.unsure);
	undo_close(&undo);
	assert_int_equal(put_all_back(), 1);
	archive_head_free(&head);
}

/* What stays is half written: whatever happens to the next write, its head is there. */
static void a_head_that_stays_is_never_overwritten(void **state)
{
	char *file = must_print("%s/.undo", it.folder);
	struct archive_head head;
	struct stat was, is;
	struct undo undo;

	(void)state;
	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 60), ARCHIVE_WRITTEN);
	keep_head();
	assert_int_equal(stat(file, &was), 0);
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	assert_true(undo_open(&undo, it.folder, it.why));
	undo_add(&undo, "E2", &head);
	assert_false(write_within(&undo, head.size / 2));
	assert_int_equal(stat(file, &is), 0);
	assert_true(is.st_ino == was.st_ino && is.st_size == was.st_size);
	assert_true(undo_write(&undo, false, it.why));
	assert_int_equal(stat(file, &is), 0);
	assert_true(is.st_ino != was.st_ino); /* beside the old one, then in its place */
	was = is;
	undo_forget(&undo, "E2");
	assert_true(undo_write(&undo, false, it.why));
	assert_int_equal(stat(file, &is), 0);
	assert_true(is.st_ino != was.st_ino); /* and E1 stays */
	assert_int_equal(put_all_back(), 1);
	undo_close(&undo);
	archive_head_free(&head);
	free(file);
}

/* However long the file has become. */
static void what_is_behind_the_heads_does_not_count(void **state)
{
	char *file = must_print("%s/.undo", it.folder);

	(void)state;
	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 60), ARCHIVE_WRITTEN);
	cut_short(60, 120);
	assert_int_equal(truncate(file, (off_t)1 << 30), 0);
	assert_int_equal(put_all_back(), 1);
	assert_int_equal(last_update(), it.minutes[59].end);
	free(file);
}

static void impossible_heads_are_not_put_back(void **state)
{
	(void)state;
	struct archive_head head;
	struct undo undo;

	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 60), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	memset(head.bytes + head.size - 8, 0x7f, 8); /* a row that is not there */
	assert_true(undo_open(&undo, it.folder, it.why));
	undo_add(&undo, "E1", &head);
	assert_true(undo_put_back(&undo, "E1", it.why));
	undo_close(&undo);
	archive_head_free(&head);
	assert_int_equal(last_update(), it.minutes[59].end);
}

#define each(test) cmocka_unit_test_setup_teardown(test, case_set_up, case_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		each(a_kept_head_undoes_a_batch),
		each(moved_pointers_are_put_back),
		each(a_torn_undo_file_holds_nothing),
		each(a_kept_head_of_another_layout_is_dropped),
		each(a_kept_head_newer_than_the_file_is_dropped),
		each(what_cannot_be_put_back_stays),
		each(an_undo_file_that_is_not_written_is_unsure),
		each(a_head_that_stays_is_never_overwritten),
		each(what_is_behind_the_heads_does_not_count),
		each(impossible_heads_are_not_put_back),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
