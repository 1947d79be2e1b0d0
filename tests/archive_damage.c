/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Archives in trouble: damaged files, readers who have the file locked.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/archive_case.h"

/* ---- damaged files ------------------------------------------------------- */

static void fill_file(off_t from, size_t size, int byte)
{
	char *bytes = must_calloc(size, 1);
	int fd = open(it.path, O_RDWR | O_CREAT, 0644);

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
	char *before = case_contents(it.path, &before_size);

	assert_int_equal(case_write(0, it.count), ARCHIVE_DAMAGED);
	if (!strstr(it.why, reason))
		fail_msg("\"%s\" does not say \"%s\"", it.why, reason);
	char *aside = archive_set_aside(it.path, midnight, it.why);

	assert_non_null(aside);
	assert_non_null(strstr(aside, "/E1.rrd.damaged-20260105T000000Z"));
	char *after = case_contents(aside, &after_size);

	assert_int_equal(before_size, after_size);
	assert_memory_equal(before, after, before_size);
	case_write_all();
	case_check(midnight, midnight + 7200, WARM, 0);
	assert_int_equal(unlink(it.path), 0);
	free(before);
	free(after);
	free(aside);
}

static void damaged_files_are_refused(void **state)
{
	(void)state;
	struct archive_head head;

	case_plan(midnight, midnight + 7200, WARM);
	fill_file(0, 0, 0);
	refused_and_begun_anew("empty");
	fill_file(0, 100000, 0);
	refused_and_begun_anew("no round-robin archive");
	fill_file(0, 60, 'x');
	refused_and_begun_anew("cut short");
	fill_file(0, 6000, 'x');
	refused_and_begun_anew("no round-robin archive");
	case_write_all();
	assert_int_equal(truncate(it.path, 20000), 0);
	refused_and_begun_anew("cut short");
	case_write_all();
	assert_int_equal(truncate(it.path, 900), 0);
	refused_and_begun_anew("cut short");
	case_write_all();
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	assert_int_equal(truncate(it.path, (off_t)head.size - 8), 0);
	archive_head_free(&head);
	refused_and_begun_anew("cut short");
	case_write_all();
	fill_file(0, 4096, 0);
	refused_and_begun_anew("no round-robin archive");
}

static void another_step_is_refused(void **state)
{
	(void)state;
	if (system("command -v rrdtool >/dev/null") != 0)
		skip();
	char *command = must_print("rrdtool create '%s' -s 300 DS:a:GAUGE:600:U:U "
				   "RRA:AVERAGE:0.5:1:1000",
				   it.path);

	case_plan(midnight, midnight + 7200, WARM);
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

	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 30), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	char *whole = case_contents(it.path, &size);

	for (size_t at = 0; at < head.size; at += sizeof *patterns)
		for (int i = 0; i < PATTERNS; i++) {
			int fd = open(it.path, O_RDWR), status;

			assert_int_equal(pwrite(fd, whole, head.size, 0), (ssize_t)head.size);
			assert_int_equal(pwrite(fd, &patterns[i], sizeof *patterns, (off_t)at),
					 sizeof *patterns);
			close(fd);
			pid_t pid = fork();

			if (pid == 0)
				_exit(case_write(0, it.count) == ARCHIVE_DAMAGED ? 7 : 0);
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
		names[i] = archive_set_aside(it.path, midnight, it.why);
		assert_non_null(names[i]);
	}
	for (int i = 0; i < 3; i++) {
		struct stat aside;

		assert_int_equal(stat(names[i], &aside), 0);
		assert_int_equal(aside.st_size, 10 + i);
		free(names[i]);
	}
	assert_null(archive_set_aside(it.path, midnight, it.why));
	assert_non_null(strstr(it.why, "set it aside"));
}

static void holes_in_the_file_are_filled(void **state)
{
	(void)state;
	struct stat sparse, filled;
	struct archive_head head;

	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 10), ARCHIVE_WRITTEN);
	assert_int_equal(stat(it.path, &filled), 0);
	int fd = open(it.path, O_RDWR);

	if (fallocate(fd, FALLOC_FL_PUNCH_HOLE | FALLOC_FL_KEEP_SIZE, 65536, filled.st_size / 2) <
	    0)
		skip();
	close(fd);
	assert_int_equal(stat(it.path, &sparse), 0);
	assert_true(sparse.st_blocks < filled.st_blocks);
	assert_int_equal(archive_head_read(it.path, &head, it.why), HEAD_GOOD);
	archive_head_free(&head);
	assert_int_equal(stat(it.path, &sparse), 0);
	assert_true(sparse.st_blocks >= filled.st_blocks);
}

/* ---- others at the file -------------------------------------------------- */

static void a_reader_is_waited_for(void **state)
{
	(void)state;
	int ready[2];
	char byte = 0;

	case_plan(midnight, midnight + 7200, WARM);
	assert_int_equal(case_write(0, 10), ARCHIVE_WRITTEN);
	assert_int_equal(pipe(ready), 0);
	pid_t pid = fork();

	if (pid == 0) {
		struct flock lock = { .l_type = F_RDLCK, .l_whence = SEEK_SET };
		int fd = open(it.path, O_RDWR);

		if (fcntl(fd, F_SETLK, &lock) < 0 || write(ready[1], &byte, 1) != 1)
			_exit(1);
		usleep(300000); /* the archive is being read for so long */
		_exit(0);
	}
	assert_int_equal(read(ready[0], &byte, 1), 1);
	case_write_all();
	case_check(midnight, midnight + 7200, WARM, 0);
	assert_int_equal(waitpid(pid, NULL, 0), pid);
	close(ready[0]);
	close(ready[1]);
}

static void a_folder_that_is_not_there_is_no_damage(void **state)
{
	(void)state;
	char *right = it.path;

	case_plan(midnight, midnight + 3600, WARM);
	it.path = must_print("%s/nowhere/E1.rrd", it.folder);
	assert_int_equal(case_write(0, it.count), ARCHIVE_FAILED);
	assert_true(*it.why);
	free(it.path);
	it.path = right;
}

#define each(test) cmocka_unit_test_setup_teardown(test, case_set_up, case_tear_down)

int main(void)
{
	const struct CMUnitTest tests[] = {
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
