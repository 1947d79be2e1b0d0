/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The files a watch writes every minute and oftener: where they lie, and what
 * becomes of them while the state folder is away.
 */
#include "tests/cm.h"

#include <dirent.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "tests/stage.h"

enum {
	RECORD = 72 + 2 * 40, /* bytes at least of a gathered minute of E1 (conf/gathered.c) */
	AWAY = 20,            /* minutes; the files of values take turns several times */
};

static struct stat look_at(const struct stage *stage, const char *name)
{
	char *path = state_path(stage->folder, name);
	struct stat about = { 0 };

	lstat(path, &about); /* all zero when there is none */
	free(path);
	return about;
}

/* Minutes, and what the loop does between them. */
static void pass(struct stage *stage, int minutes)
{
	for (; minutes > 0; minutes--) {
		scene_run(&stage->scene, 1);
		feed_step(stage->watch.feed, -1);
	}
}

static size_t entries(const char *folder)
{
	DIR *dir = opendir(folder);
	size_t count = 0;

	assert_non_null(dir);
	while (readdir(dir))
		count++;
	closedir(dir);
	return count - 2; /* . and .. */
}

/* The folder goes, and what is in its place can be written but is not ours: its
 * lock cannot be had. */
static char *take_away(struct stage *stage)
{
	char *aside = must_print("%s.aside", stage->folder);
	char *lock = state_path(stage->folder, LOCK_FILE);

	assert_int_equal(rename(stage->folder, aside), 0);
	assert_int_equal(mkdir(stage->folder, 0700), 0);
	assert_int_equal(mkdir(lock, 0700), 0);
	free(lock);
	stage_tick(stage);
	assert_true(stage->watch.home.away);
	return aside;
}

static void bring_back(struct stage *stage)
{
	char *lock = state_path(stage->folder, LOCK_FILE);

	assert_int_equal(rmdir(lock), 0);
	free(lock);
	stage_tick(stage);
	assert_false(stage->watch.home.away);
}

static void remove_all(char *folder)
{
	char *command = must_print("rm -r '%s'", folder);

	assert_int_equal(system(command), 0);
	free(command);
	free(folder);
}

static void nothing_is_written_where_the_folder_was(void **state)
{
	struct stage stage;

	(void)state;
	unsetenv("RUNTIME_DIRECTORY");
	stage_begin(&stage, 1, "", "");
	pass(&stage, 4);
	assert_true(look_at(&stage, GATHERED_FILE).st_size > 2 * RECORD);
	assert_true(look_at(&stage, SAMPLES_FILE).st_size > 0);
	char *aside = take_away(&stage);

	pass(&stage, AWAY);
	assert_int_equal(entries(stage.folder), 1);
	bring_back(&stage);
	pass(&stage, 1);
	assert_true(look_at(&stage, GATHERED_FILE).st_size > (AWAY + 2) * RECORD);
	assert_true(look_at(&stage, SAMPLES_FILE).st_size > 0);
	stage_end(&stage);
	remove_all(aside);
}

/* A folder in memory does not go with it. */
static void what_lies_elsewhere_goes_on(void **state)
{
	char template[] = "/tmp/passing-XXXXXX";
	struct stage stage;
	struct stat about;

	(void)state;
	assert_non_null(mkdtemp(template));
	setenv("RUNTIME_DIRECTORY", template, 1);
	stage_begin(&stage, 1, "", "");
	assert_true(S_ISLNK(look_at(&stage, GATHERED_FILE).st_mode));
	char *aside = take_away(&stage), *gathered = state_path(template, GATHERED_FILE);

	pass(&stage, AWAY);
	assert_int_equal(entries(stage.folder), 1);
	assert_int_equal(stat(gathered, &about), 0);
	assert_true(about.st_size > (AWAY - 2) * RECORD);
	bring_back(&stage);
	assert_true(S_ISLNK(look_at(&stage, GATHERED_FILE).st_mode));
	stage_end(&stage);
	remove_all(aside);
	remove_all(must_copy(template));
	free(gathered);
	unsetenv("RUNTIME_DIRECTORY");
}

/* What a sudden end has left is not given up for a folder that takes nothing. */
static void a_folder_that_takes_nothing_is_not_led_to(void **state)
{
	struct stage stage;

	(void)state;
	unsetenv("RUNTIME_DIRECTORY");
	stage_begin(&stage, 1, "", "");
	scene_run(&stage.scene, 10);
	feed_gather(stage.watch.feed, stage.watch.gathered); /* no archivist holds the lock */
	off_t before = look_at(&stage, GATHERED_FILE).st_size;

	setenv("RUNTIME_DIRECTORY", "/nonexistent/folder", 1);
	stage_kill(&stage, 1);
	assert_true(S_ISREG(look_at(&stage, GATHERED_FILE).st_mode));
	assert_int_equal(look_at(&stage, GATHERED_FILE).st_size, before);
	unsetenv("RUNTIME_DIRECTORY");
	stage_end(&stage);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nothing_is_written_where_the_folder_was),
		cmocka_unit_test(what_lies_elsewhere_goes_on),
		cmocka_unit_test(a_folder_that_takes_nothing_is_not_led_to),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
