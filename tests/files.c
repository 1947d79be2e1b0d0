/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Small files, whole or not there: what a write that fails leaves, and what a
 * read is refused or waits for.
 */
#include "tests/cm.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/files.h"

enum { MOST = 4096 }; /* bytes a file may have while the disk is played full */

static char folder[40];

static int set_up(void **state)
{
	(void)state;
	snprintf(folder, sizeof folder, "/tmp/warmside-files-XXXXXX");
	return mkdtemp(folder) ? 0 : -1;
}

static int tear_down(void **state)
{
	(void)state;
	return rmdir(folder); /* each test leaves nothing */
}

static char *in_folder(const char *name)
{
	return must_print("%s/%s", folder, name);
}

static void assert_holds(const char *path, const char *wanted)
{
	size_t size;
	char *text = file_read(path, MOST, &size);

	assert_non_null(text);
	assert_string_equal(text, wanted);
	assert_int_equal(size, strlen(wanted));
	free(text);
}

/* A file cannot grow beyond MOST: write() itself fails, in the middle of it, as on a full
 * disk. */
static void a_full_disk_leaves_the_old_file(void **state)
{
	(void)state;
	char *path = in_folder("a.json"), *beside = in_folder("a.json.new");
	char big[2 * MOST];
	struct rlimit before, now;

	memset(big, 'x', sizeof big);
	assert_true(file_replace(path, "old", 3, true));
	signal(SIGXFSZ, SIG_IGN);
	assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
	now = before;
	now.rlim_cur = MOST;
	assert_int_equal(setrlimit(RLIMIT_FSIZE, &now), 0);
	errno = 0;
	bool good = file_replace(path, big, sizeof big, true);
	int error = errno;

	assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
	signal(SIGXFSZ, SIG_DFL);
	assert_false(good);
	assert_int_equal(error, EFBIG);
	assert_holds(path, "old");
	assert_int_equal(access(beside, F_OK), -1); /* no half of it lies about */
	assert_int_equal(unlink(path), 0);
	free(path);
	free(beside);
}

static void what_cannot_be_replaced(void **state)
{
	(void)state;
	char *path = in_folder("b"), *beside = in_folder("b.new"), *none = in_folder("none/b");
	char *other = in_folder("other");

	errno = 0;
	assert_false(file_replace(none, "x", 1, true));
	assert_int_equal(errno, ENOENT);
	/* A folder there is not written over. */
	assert_int_equal(mkdir(path, 0700), 0);
	assert_false(file_replace(path, "x", 1, true));
	assert_int_equal(errno, EISDIR);
	assert_int_equal(access(beside, F_OK), -1);
	assert_int_equal(rmdir(path), 0);
	/* Nor is what somebody has let the file beside it lead to. */
	assert_true(file_replace(other, "mine", 4, false));
	assert_int_equal(symlink(other, beside), 0);
	assert_false(file_replace(path, "x", 1, true));
	assert_int_equal(errno, ELOOP);
	assert_holds(other, "mine");
	assert_int_equal(unlink(beside) | unlink(other), 0);
	free(path);
	free(beside);
	free(none);
	free(other);
}

static void a_folder_is_made_once(void **state)
{
	(void)state;
	char *path = in_folder("requests"), *lost = in_folder("lost");
	struct stat status;
	mode_t mask = umask(077);

	/* Whatever the mask, its group may write there. */
	assert_true(folder_make(path, 0770));
	umask(mask);
	assert_int_equal(stat(path, &status), 0);
	assert_int_equal(status.st_mode & 07777, 0770);
	assert_true(folder_make(path, 0770));
	assert_int_equal(rmdir(path), 0);
	assert_true(file_replace(path, "", 0, false));
	assert_false(folder_make(path, 0770));
	assert_int_equal(errno, ENOTDIR);
	assert_int_equal(unlink(path), 0);
	/* A link to a disk that is not there. */
	assert_int_equal(symlink("/none/at/all", lost), 0);
	assert_false(folder_make(lost, 0770));
	assert_int_equal(errno, ENOENT);
	assert_int_equal(unlink(lost), 0);
	free(path);
	free(lost);
}

static void what_cannot_be_read(void **state)
{
	(void)state;
	char *path = in_folder("c");
	size_t size;

	assert_null(file_read(path, MOST, &size));
	assert_int_equal(errno, ENOENT);
	assert_null(file_read(folder, MOST, &size));
	assert_int_equal(errno, EISDIR);
	assert_true(file_replace(path, "12345", 5, false));
	assert_null(file_read(path, 4, &size));
	assert_int_equal(errno, EFBIG);
	char *text = file_read(path, 5, &size);

	assert_non_null(text);
	assert_int_equal(size, 5);
	free(text);
	assert_int_equal(unlink(path), 0);
	free(path);
}

/* One whose writer takes its time, as what decrypts a file may; then one that nobody
 * writes to. */
static void a_pipe_is_waited_for(void **state)
{
	(void)state;
	char *path = in_folder("pipe");
	int ready[2];
	char byte;

	assert_int_equal(mkfifo(path, 0600), 0);
	assert_int_equal(pipe(ready), 0);
	/* What was written stays there, should it have ended before it is read. */
	int held = open(path, O_RDONLY | O_NONBLOCK);
	pid_t child = fork();

	if (child == 0) {
		int fd = open(path, O_RDWR);

		if (write(ready[1], "", 1) != 1 || write(fd, "first, ", 7) != 7)
			_exit(1);
		poll(NULL, 0, 100); /* the reader has found it empty by then, or need not wait */
		_exit(write(fd, "second", 6) != 6);
	}
	assert_int_equal(read(ready[0], &byte, 1), 1);
	assert_holds(path, "first, second");
	assert_int_equal(waitpid(child, NULL, 0), child);
	assert_holds(path, "");
	close(held);
	close(ready[0]);
	close(ready[1]);
	assert_int_equal(unlink(path), 0);
	free(path);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(a_full_disk_leaves_the_old_file, set_up, tear_down),
		cmocka_unit_test_setup_teardown(what_cannot_be_replaced, set_up, tear_down),
		cmocka_unit_test_setup_teardown(a_folder_is_made_once, set_up, tear_down),
		cmocka_unit_test_setup_teardown(what_cannot_be_read, set_up, tear_down),
		cmocka_unit_test_setup_teardown(a_pipe_is_waited_for, set_up, tear_down),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
