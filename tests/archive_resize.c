/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * An archive gets other numbers of rows: what it keeps, and what happens when
 * that fails.
 */
#include "tests/cm.h"

#include <signal.h>
#include <stdio.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/archive_resize.h"
#include "report/fetch.h"
#include "tests/archive_case.h"
#include "tests/rows.h"

enum { DAYS = 5 };

static const int64_t end = midnight + DAYS * 86400;

/* Five days of two series: the finest rows of them all no longer reach back. */
static void write_days(void)
{
	case_plan(midnight, end, BOTH);
	case_write_all();
}

static void resize(uint64_t minutes, uint64_t ten_minutes, uint64_t hours)
{
	if (!archive_resize(it.path, (uint64_t[]){ minutes, ten_minutes, hours }, it.why))
		fail_msg("%s", it.why);
}

static uint64_t rows_of(const char *path)
{
	struct stat about;

	assert_int_equal(stat(path, &about), 0);
	return (uint64_t)about.st_size / sizeof(double);
}

static bool rows_fit(void)
{
	struct archive_head head;

	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	bool fit = archive_rows_fit(&head, case_rows);

	archive_head_free(&head);
	return fit;
}

static void a_file_knows_whether_its_rows_fit(void **state)
{
	const uint64_t *is = case_rows;

	(void)state;
	write_days();
	assert_true(rows_fit());
	for (int i = 0; i < ROW_SIZES; i++) {
		resize(is[0] + (i == 0), is[1] + (i == 1), is[2] + (i == 2));
		assert_false(rows_fit());
	}
	resize(is[0], is[1], is[2]);
	assert_true(rows_fit());
}

static void absent_or_no_archive_is_left_alone(void **state)
{
	FILE *file;

	(void)state;
	assert_false(archive_resize(it.path, case_rows, it.why));
	assert_string_equal(it.why, "it is not there");
	file = fopen(it.path, "w");
	assert_non_null(file);
	for (int i = 0; i < 5000; i++)
		fputs("no archive", file);
	fclose(file);
	assert_false(archive_resize(it.path, case_rows, it.why));
	assert_string_equal(it.why, "it is no round-robin archive");
}

/* Of what both have each row is what it was; and it goes on being exact. */
static void fewer_rows_keep_the_newest(void **state)
{
	uint64_t before;

	(void)state;
	write_days();
	before = rows_of(it.path);
	resize(2 * 1440, 4 * 144, 100);
	assert_true(rows_of(it.path) < before);
	case_check(end - 2 * 86400, end, WARM, midnight);
	case_check(end - 2 * 86400, end, COOL, midnight);

	size_t written = it.count;

	case_plan(end, end + 7200 + 1380, BOTH); /* into the middle of an hour */
	assert_int_equal(case_write(written, it.count), ARCHIVE_WRITTEN);
	case_check(end - 86400, end + 7200, COOL, midnight);
}

static void more_rows_keep_all(void **state)
{
	(void)state;
	write_days();
	resize(10 * 1440, 10 * 144, 1000);
	/* As far as the minutes reached before, all is as it was ... */
	case_check(end - CASE_ROWS * 60, end, WARM, midnight);
	case_check(end - CASE_ROWS * 60, end, COOL, midnight);

	size_t written = it.count;

	case_plan(end, end + 3 * 86400, BOTH);
	assert_int_equal(case_write(written, it.count), ARCHIVE_WRITTEN);
	case_check(end - CASE_ROWS * 60, end + 3 * 86400, COOL, midnight);
}

/* ... and what was not kept before is not there: the file says since when it is. */
static void older_minutes_are_known_to_be_missing(void **state)
{
	const int64_t since = end - CASE_ROWS * 60;
	struct rows minutes;
	struct shape shape;
	char *trouble;
	bool missing;

	(void)state;
	write_days();
	resize(10 * 1440, 1500, 400);
	assert_true(rows_fetch(it.path, "AVERAGE", ROW_MINUTE, since - 3600, since, &minutes));
	for (int64_t minute = since - 3540; minute <= since; minute += 60)
		assert_true(isnan(rows_at(&minutes, "cool_h_ok", minute)));
	rows_free(&minutes);
	assert_true(fetch_shape(it.path, &shape, &trouble, &missing));
	assert_int_equal(shape.rows[0], CASE_ROWS);
	assert_int_equal(shape.rows[1], 1500);
	shape_clear(&shape);

	/* It stays said when they become fewer, then more again. */
	resize(2 * 1440, 1500, 400);
	assert_true(fetch_shape(it.path, &shape, &trouble, &missing));
	assert_int_equal(shape.rows[0], 2 * 1440);
	shape_clear(&shape);
	resize(10 * 1440, 1500, 400);
	assert_true(fetch_shape(it.path, &shape, &trouble, &missing));
	assert_int_equal(shape.rows[0], 2 * 1440);
	shape_clear(&shape);
}

/* In the middle of an hour, longer and shorter by turns: nothing adds up. */
static void there_and_back(void **state)
{
	size_t part = 2 * 1440 + 17;

	(void)state;
	case_plan(midnight, end, BOTH);
	assert_int_equal(case_write(0, part), ARCHIVE_WRITTEN);
	for (size_t from = part; from < it.count; from += 777) {
		size_t to = from + 777 < it.count ? from + 777 : it.count;

		resize(CASE_ROWS + from % 5 * 100, 1500 + from % 7, 400 + from % 3);
		assert_int_equal(case_write(from, to), ARCHIVE_WRITTEN);
	}
	archive_resize(it.path, case_rows, it.why);
	case_check(end - 2 * 86400, end, WARM, midnight);
	case_check(end - 2 * 86400, end, COOL, midnight);
}

/* No room for the new file: the old one stays as it is, and nothing lies about. */
static void a_full_disk_changes_nothing(void **state)
{
	struct rlimit before, little;
	size_t size, size_now;
	char *beside = must_print("%sresize", it.path);

	(void)state;
	write_days();
	char *was = case_contents(it.path, &size);

	signal(SIGXFSZ, SIG_IGN);
	assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
	little = (struct rlimit){ size, before.rlim_max };
	assert_int_equal(setrlimit(RLIMIT_FSIZE, &little), 0);
	bool result = archive_resize(
		it.path, (uint64_t[]){ 10 * CASE_ROWS, 1500, 400 }, it.why);

	assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
	signal(SIGXFSZ, SIG_DFL);
	assert_false(result);
	assert_string_equal(it.why, "File too large");
	assert_int_not_equal(access(beside, F_OK), 0);
	char *now = case_contents(it.path, &size_now);

	assert_int_equal(size, size_now);
	assert_memory_equal(was, now, size);
	free(beside);
	free(was);
	free(now);
}

/* At whatever moment: the old one is there or the new one, with all that both keep. */
static void a_kill_leaves_a_whole_archive(void **state)
{
	enum { KILLS = 25 };
	const uint64_t few[ROW_SIZES] = { 2 * 1440, 1500, 400 };

	(void)state;
	write_days();
	for (int i = 0; i < KILLS; i++) {
		pid_t child = fork();

		assert_true(child >= 0);
		while (child == 0) {
			archive_resize(it.path, few, it.why);
			archive_resize(it.path, case_rows, it.why);
		}
		usleep((useconds_t)(331 * i));
		kill(child, SIGKILL);
		assert_int_equal(waitpid(child, NULL, 0), child);
		case_check(end - 86400, end, COOL, midnight);
	}
	size_t written = it.count;

	case_plan(end, end + 7200, BOTH);
	assert_int_equal(case_write(written, it.count), ARCHIVE_WRITTEN);
	case_check(end - 86400, end + 7200, WARM, midnight);
}

static void the_mode_stays(void **state)
{
	struct stat about;

	(void)state;
	write_days();
	assert_int_equal(chmod(it.path, 0640), 0);
	resize(2 * 1440, 1500, 400);
	assert_int_equal(stat(it.path, &about), 0);
	assert_int_equal(about.st_mode & 0777, 0640);
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, case_set_up, case_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
		TEST(a_file_knows_whether_its_rows_fit),
		TEST(absent_or_no_archive_is_left_alone),
		TEST(fewer_rows_keep_the_newest),
		TEST(more_rows_keep_all),
		TEST(older_minutes_are_known_to_be_missing),
		TEST(there_and_back),
		TEST(a_full_disk_changes_nothing),
		TEST(a_kill_leaves_a_whole_archive),
		TEST(the_mode_stays),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
