/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Archives that are damaged, foreign or full of holes: refused, set aside,
 * begun anew, and never the death of who looks at them.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/archive_truth.h"

static void fill_file(struct truth *t, off_t from, size_t size, int byte)
{
	char *bytes = must_calloc(size, 1);
	int fd = open(t->path, O_RDWR | O_CREAT, 0644);

	memset(bytes, byte, size);
	assert_true(fd >= 0);
	assert_int_equal(pwrite(fd, bytes, size, from), (ssize_t)size);
	close(fd);
	free(bytes);
}

/* The file is refused, set aside with its bytes, and the next one is good. */
static void refused_and_begun_anew(struct truth *t, const char *reason)
{
	size_t before_size, after_size;
	char *before = truth_contents(t->path, &before_size);

	assert_int_equal(truth_write(t, 0, t->count), ARCHIVE_DAMAGED);
	if (!strstr(t->why, reason))
		fail_msg("\"%s\" does not say \"%s\"", t->why, reason);
	char *aside = archive_set_aside(t->path, midnight, t->why);

	assert_non_null(aside);
	assert_non_null(strstr(aside, "/E1.rrd.damaged-20260105T000000Z"));
	char *after = truth_contents(aside, &after_size);

	assert_int_equal(before_size, after_size);
	assert_memory_equal(before, after, before_size);
	truth_write_all(t);
	truth_check(t, midnight, midnight + 7200, WARM, 0);
	assert_int_equal(unlink(t->path), 0);
	free(before);
	free(after);
	free(aside);
}

static void damaged_files_are_refused(void **state)
{
	struct truth *t = *state;
	struct archive_head head;

	truth_plan(t, midnight, midnight + 7200, WARM);
	fill_file(t, 0, 0, 0);
	refused_and_begun_anew(t, "empty");
	fill_file(t, 0, 100000, 0);
	refused_and_begun_anew(t, "no round-robin archive");
	fill_file(t, 0, 60, 'x');
	refused_and_begun_anew(t, "cut short");
	fill_file(t, 0, 6000, 'x');
	refused_and_begun_anew(t, "no round-robin archive");
	truth_write_all(t);
	assert_int_equal(truncate(t->path, 20000), 0);
	refused_and_begun_anew(t, "cut short");
	truth_write_all(t);
	assert_int_equal(truncate(t->path, 900), 0);
	refused_and_begun_anew(t, "cut short");
	truth_write_all(t);
	assert_int_equal(archive_head_read(t->path, &head, t->why), HEAD_GOOD);
	assert_int_equal(truncate(t->path, (off_t)head.size - 8), 0);
	archive_head_free(&head);
	refused_and_begun_anew(t, "cut short");
	truth_write_all(t);
	fill_file(t, 0, 4096, 0);
	refused_and_begun_anew(t, "no round-robin archive");
}

static void another_step_is_refused(void **state)
{
	struct truth *t = *state;
	char *command = must_print("rrdtool create '%s' -s 300 DS:a:GAUGE:600:U:U "
				   "RRA:AVERAGE:0.5:1:1000", t->path);

	truth_plan(t, midnight, midnight + 7200, WARM);
	if (system("command -v rrdtool >/dev/null") != 0)
		skip();
	assert_int_equal(system(command), 0);
	refused_and_begun_anew(t, "step");
	free(command);
}

/* reference: overwriting each eight-byte word of a head in turn made librrd
 * 1.7.2 die by SIGFPE and SIGSEGV; none may do so behind the check. */
static void no_damaged_word_kills(void **state)
{
	struct truth *t = *state;
	static const uint64_t patterns[] = { 0, UINT64_MAX, 0x4242424242424242, 1 };
	enum { PATTERNS = sizeof patterns / sizeof *patterns };
	struct archive_head head;
	size_t size, refused = 0;

	truth_plan(t, midnight, midnight + 7200, WARM);
	assert_int_equal(truth_write(t, 0, 30), ARCHIVE_WRITTEN);
	assert_int_equal(archive_head_read(t->path, &head, t->why), HEAD_GOOD);
	char *whole = truth_contents(t->path, &size);

	for (size_t at = 0; at < head.size; at += sizeof *patterns)
		for (int i = 0; i < PATTERNS; i++) {
			int fd = open(t->path, O_RDWR), status;

			assert_int_equal(pwrite(fd, whole, head.size, 0), (ssize_t)head.size);
			assert_int_equal(pwrite(fd, &patterns[i], sizeof *patterns, (off_t)at),
					 sizeof *patterns);
			close(fd);
			pid_t pid = fork();

			if (pid == 0)
				_exit(truth_write(t, 0, t->count) == ARCHIVE_DAMAGED ? 7 : 0);
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
	struct truth *t = *state;
	char *names[3];

	for (int i = 0; i < 3; i++) {
		fill_file(t, 0, 10 + (size_t)i, 'x');
		names[i] = archive_set_aside(t->path, midnight, t->why);
		assert_non_null(names[i]);
	}
	for (int i = 0; i < 3; i++) {
		struct stat aside;

		assert_int_equal(stat(names[i], &aside), 0);
		assert_int_equal(aside.st_size, 10 + i);
		free(names[i]);
	}
	assert_null(archive_set_aside(t->path, midnight, t->why));
	assert_non_null(strstr(t->why, "set it aside"));
}

static void holes_in_the_file_are_filled(void **state)
{
	struct truth *t = *state;
	struct stat sparse, filled;
	struct archive_head head;

	truth_plan(t, midnight, midnight + 7200, WARM);
	assert_int_equal(truth_write(t, 0, 10), ARCHIVE_WRITTEN);
	assert_int_equal(stat(t->path, &filled), 0);
	int fd = open(t->path, O_RDWR);

	if (fallocate(fd, FALLOC_FL_PUNCH_HOLE | FALLOC_FL_KEEP_SIZE, 65536,
		      filled.st_size / 2) < 0)
		skip();
	close(fd);
	assert_int_equal(stat(t->path, &sparse), 0);
	assert_true(sparse.st_blocks < filled.st_blocks);
	assert_int_equal(archive_head_read(t->path, &head, t->why), HEAD_GOOD);
	archive_head_free(&head);
	assert_int_equal(stat(t->path, &sparse), 0);
	assert_true(sparse.st_blocks >= filled.st_blocks);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		with_truth(damaged_files_are_refused),
		with_truth(another_step_is_refused),
		with_truth(no_damaged_word_kills),
		with_truth(files_set_aside_in_one_second_are_all_kept),
		with_truth(holes_in_the_file_are_filled),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
