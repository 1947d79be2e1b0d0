/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The requests folder: what is left is taken once and in order, and nothing
 * anybody puts there does harm.
 */
#include "tests/cm.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "conf/asking.h"
#include "conf/memory.h"

static char folder[] = "/tmp/warmside-asking-XXXXXX";

static char *in(const char *name)
{
	return must_print("%s/%s", folder, name);
}

static void put(const char *name, const char *text, size_t size)
{
	char *path = in(name);
	int fd = open(path, O_WRONLY | O_CREAT | O_EXCL, 0644);

	assert_true(fd >= 0);
	assert_int_equal(write(fd, text, size), size);
	close(fd);
	free(path);
}

static bool is_there(const char *name)
{
	char *path = in(name);
	struct stat status;
	bool there = lstat(path, &status) == 0;

	free(path);
	return there;
}

static void assert_nothing_more(void)
{
	struct asking asking;
	char *fault;

	assert_false(asking_take(folder, &asking, &fault));
	assert_null(fault);
}

static void assert_refused(const char *words)
{
	struct asking asking;
	char *fault;

	assert_true(asking_take(folder, &asking, &fault));
	assert_non_null(fault);
	if (!strstr(fault, words))
		fail_msg("\"%s\" does not say \"%s\"", fault, words);
	free(fault);
}

static int make_folder(void **state)
{
	(void)state;
	memcpy(folder + sizeof folder - 7, "XXXXXX", 6);
	return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
	(void)state;
	return rmdir(folder); /* each test leaves it empty */
}

static void what_is_left_is_taken_once_and_in_order(void **state)
{
	(void)state;
	const struct asking left[] = {
		{ .what = ASKED_SHELVE, .enclosure = "T3", .seconds = 5400.5, .by = "Jörg",
		  .note = "cleaning \"all\" of it" },
		{ .what = ASKED_ACK },
		{ .what = ASKED_TEST, .by = "anna" },
		{ .what = ASKED_SHELVE, .enclosure = "room", .seconds = SHELVE_MOST },
	};
	const size_t count = sizeof left / sizeof *left;

	const double begun = (double)time(NULL);

	assert_nothing_more();
	for (size_t i = 0; i < count; i++)
		assert_true(asking_leave(folder, &left[i]));
	for (size_t i = 0; i < count; i++) {
		struct asking asking;
		char *fault;

		assert_true(asking_take(folder, &asking, &fault));
		assert_null(fault);
		assert_int_equal(asking.what, left[i].what);
		assert_string_equal(asking.enclosure, left[i].enclosure);
		assert_near(asking.seconds, left[i].seconds, 0);
		assert_string_equal(asking.by, left[i].by);
		assert_string_equal(asking.note, left[i].note);
		assert_true(asking.time >= begun && asking.time <= (double)time(NULL) + 1);
	}
	assert_nothing_more();
}

static void the_longest_texts_fit(void **state)
{
	(void)state;
	struct asking left = { .what = ASKED_ACK }, asking;
	char *fault;

	memset(left.enclosure, 'e', sizeof left.enclosure - 1);
	memset(left.by, '"', sizeof left.by - 1);
	memset(left.note, '\\', sizeof left.note - 1);
	assert_true(asking_leave(folder, &left));
	assert_true(asking_take(folder, &asking, &fault));
	assert_null(fault);
	assert_string_equal(asking.note, left.note);
	assert_string_equal(asking.by, left.by);
}

static void what_could_not_be_read_back_is_not_left(void **state)
{
	(void)state;
	const struct asking bad[] = {
		{ .what = ASKED_SHELVE, .enclosure = "T3", .seconds = SHELVE_MOST + 1 },
		{ .what = ASKED_SHELVE, .enclosure = "T3", .seconds = -1 },
		{ .what = ASKED_SHELVE, .enclosure = "T3", .seconds = (double)NAN },
		{ .what = ASKED_ACK, .note = "two\nlines" },
		{ .what = ASKED_ACK, .by = "\xff" },
	};

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		errno = 0;
		assert_false(asking_leave(folder, &bad[i]));
		assert_int_equal(errno, EINVAL);
	}
	assert_nothing_more();
}

/* Whatever the umask: the folder's group, or all who can enter it, may read. */
static void a_request_is_for_the_group(void **state)
{
	(void)state;
	const struct asking left = { .what = ASKED_TEST };
	mode_t before = umask(0177);
	struct stat status;
	struct asking asking;
	char *fault;

	assert_true(asking_leave(folder, &left));
	umask(before);

	char *command = must_print("ls %s", folder), name[200];
	FILE *list = popen(command, "r");

	assert_non_null(list);
	assert_int_equal(fscanf(list, "%199s", name), 1);
	pclose(list);

	char *path = in(name);

	assert_int_equal(stat(path, &status), 0);
	assert_int_equal(status.st_mode & 0040, 0040);
	free(path);
	free(command);
	assert_true(asking_take(folder, &asking, &fault));
}

static void there_must_be_a_folder(void **state)
{
	(void)state;
	const struct asking left = { .what = ASKED_TEST };
	char *none = in("none");
	struct asking asking;
	char *fault;

	assert_false(asking_leave(none, &left));
	assert_int_equal(errno, ENOENT);
	assert_false(asking_take(none, &asking, &fault));
	assert_null(fault);
	free(none);
}

/* ---- what others put there -------------------------------------------------- */

static void foreign_names_are_left_alone(void **state)
{
	(void)state;
	static const char good[] = "{\"ask\":\"ack\",\"enclosure\":\"\",\"seconds\":0,"
				   "\"by\":\"\",\"note\":\"\",\"time\":1}";
	static const char *const names[] = { "1-1-1",	   "notes.txt", ".ask", "1-1-1.ask.new",
					     "a1-1-1.ask", "1 1.ask",	".1-1-1.ask" };
	const size_t count = sizeof names / sizeof *names;

	for (size_t i = 0; i < count; i++)
		put(names[i], good, strlen(good));
	assert_nothing_more();
	for (size_t i = 0; i < count; i++) {
		char *path = in(names[i]);

		assert_int_equal(unlink(path), 0);
		free(path);
	}
	put("2-1-1.ask", good, strlen(good));

	struct asking asking;
	char *fault;

	assert_true(asking_take(folder, &asking, &fault));
	assert_null(fault);
	assert_int_equal(asking.what, ASKED_ACK);
}

static void what_is_no_request_is_taken_away(void **state)
{
	(void)state;
#define REST "\"enclosure\":\"T3\",\"seconds\":60,\"by\":\"\",\"note\":\"\",\"time\":1"
	static const char *const bad[] = {
		"", "{", "null", "[]", "{}", "{\"ask\":\"ack\"}", "{\"ask\":\"explode\"," REST "}",
		"{\"ask\":\"ack\",\"enclosure\":\"\",\"seconds\":0,\"by\":\"\",\"note\":\"\"}",
		"{\"ask\":\"ack\",\"ask\":\"test\"," REST "}",
		"{\"ask\":\"ack\",\"enclosure\":1,\"seconds\":60,\"by\":\"\",\"note\":\"\",\"time\":1}",
		"{\"ask\":\"shelve\",\"enclosure\":\"T3\",\"seconds\":\"60\",\"by\":\"\",\"note\":\"\",\"time\":1}",
		"{\"ask\":\"shelve\",\"enclosure\":\"T3\",\"seconds\":1e9,\"by\":\"\",\"note\":\"\",\"time\":1}",
		"{\"ask\":\"shelve\",\"enclosure\":\"T3\",\"seconds\":-1,\"by\":\"\",\"note\":\"\",\"time\":1}",
		"{\"ask\":\"ack\",\"enclosure\":\"T3\",\"seconds\":0,\"by\":\"a\\nb\",\"note\":\"\",\"time\":1}",
		"{\"ask\":\"ack\"," REST "} and more",
		"{\"ask\":\"ack\",\"enclosure\":\"\",\"seconds\":0,\"by\":\"\",\"note\":\"\",\"time\":1e18}",
		"{\"ask\":\"ack\",\"enclosure\":\"a name far longer than any enclosure can have here\","
		"\"seconds\":0,\"by\":\"\",\"note\":\"\",\"time\":1}",
	};
#undef REST

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		put("000000000001-1-1.ask", bad[i], strlen(bad[i]));
		assert_refused("000000000001-1-1.ask holds no request");
		assert_nothing_more();
	}
}

static void a_long_file_is_not_read_whole(void **state)
{
	(void)state;
	/* A request, and blanks behind it: 4096 bytes are one, 4097 are none. */
	static const char good[] = "{\"ask\":\"ack\",\"enclosure\":\"\",\"seconds\":0,"
				   "\"by\":\"\",\"note\":\"\",\"time\":1}";
	char text[4097];
	struct asking asking;
	char *fault;

	memset(text, ' ', sizeof text);
	memcpy(text, good, strlen(good));
	put("1-1-1.ask", text, 4096);
	put("1-1-2.ask", text, 4097);
	assert_true(asking_take(folder, &asking, &fault));
	assert_null(fault);
	assert_refused("too long");
	assert_nothing_more();
}

static void links_pipes_and_folders_do_no_harm(void **state)
{
	(void)state;
	static const char good[] = "{\"ask\":\"ack\",\"enclosure\":\"\",\"seconds\":0,"
				   "\"by\":\"\",\"note\":\"\",\"time\":1}";
	char *link = in("1-1-1.ask"), *pipe = in("1-1-2.ask"), *empty = in("1-1-3.ask");
	char *full = in("1-1-4.ask"), *target = in("target");
	char *inside = in("1-1-4.ask/1-1-5.ask");
	struct asking asking;
	char *fault;

	put("target", good, strlen(good));
	assert_int_equal(symlink("target", link), 0);
	assert_int_equal(mkfifo(pipe, 0666), 0);
	assert_int_equal(mkdir(empty, 0777), 0);
	assert_int_equal(mkdir(full, 0777), 0);
	assert_int_equal(mkdir(inside, 0777), 0);
	put("1-1-6.ask", good, strlen(good));

	assert_refused("1-1-1.ask is a link");
	assert_true(is_there("target"));
	assert_refused("1-1-2.ask is no plain file");
	/* Folders are left alone, and hold up nothing. */
	assert_true(asking_take(folder, &asking, &fault));
	assert_null(fault);
	assert_nothing_more();
	assert_true(is_there("1-1-4.ask"));
	assert_int_equal(rmdir(inside) | rmdir(full) | rmdir(empty) | unlink(target), 0);
	free(link);
	free(pipe);
	free(empty);
	free(full);
	free(target);
	free(inside);
}

static void everybody_has_a_login(void **state)
{
	(void)state;
	char by[BY_SIZE] = "";

	assert_ptr_equal(asking_login(by), by);
	assert_true(strlen(by) > 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test_setup_teardown(what_is_left_is_taken_once_and_in_order,
						make_folder, remove_folder),
		cmocka_unit_test_setup_teardown(the_longest_texts_fit, make_folder, remove_folder),
		cmocka_unit_test_setup_teardown(what_could_not_be_read_back_is_not_left,
						make_folder, remove_folder),
		cmocka_unit_test_setup_teardown(a_request_is_for_the_group, make_folder,
						remove_folder),
		cmocka_unit_test_setup_teardown(there_must_be_a_folder, make_folder, remove_folder),
		cmocka_unit_test_setup_teardown(foreign_names_are_left_alone, make_folder,
						remove_folder),
		cmocka_unit_test_setup_teardown(what_is_no_request_is_taken_away, make_folder,
						remove_folder),
		cmocka_unit_test_setup_teardown(a_long_file_is_not_read_whole, make_folder,
						remove_folder),
		cmocka_unit_test_setup_teardown(links_pipes_and_folders_do_no_harm, make_folder,
						remove_folder),
		cmocka_unit_test(everybody_has_a_login),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
