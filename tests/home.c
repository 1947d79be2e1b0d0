/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The state folder, or parts of it, taken away while the watch runs, or damaged
 * while it did not.  What has to do with mounts is in run-gone.sh.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/files.h"
#include "daemon/home.h"
#include "tests/stage.h"

static const char phone[] = "gather = \"0s\"\n"
			    "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n";

/* Files and folders that somebody takes away while the watch runs are there
 * again a second later, the alert log with all it held; that a part was gone is
 * told at once. */
static void a_state_folder_in_pieces(void **state)
{
	(void)state;
	static const char *const parts[] = { ARCHIVE_FOLDER, OUTBOX_FOLDER, REQUESTS_FOLDER };
	struct stage t;

	stage_begin(&t, 1, phone, "");
	scene_run(&t.scene, 1);
	scene_ask(&t.scene, ASKED_TEST, "", 0);
	watch_tick(&t.watch, t.scene.now);
	char *log = state_path(t.folder, ALERTS_FILE), *kept = state_path(t.folder, STANDING_FILE);

	assert_int_equal(unlink(log), 0);
	assert_int_equal(unlink(kept), 0);
	watch_tick(&t.watch, t.scene.now + 1);
	assert_int_equal(stage_logged(&t, "\"event\":\"test\""), 1);
	assert_int_equal(access(kept, F_OK), 0);
	assert_false(t.watch.flow->troubles[DISK].stands); /* nothing was lost */
	for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
		char *path = state_path(t.folder, parts[i]), *away = must_print("%s.away", path);

		assert_int_equal(rename(path, away), 0);
		watch_tick(&t.watch, t.scene.now + 2);
		assert_int_equal(access(path, F_OK), 0);
		assert_true(t.watch.flow->troubles[DISK].stands);
		free(path);
		free(away);
	}
	watch_tick(&t.watch, t.scene.now + 61);
	assert_true(t.watch.flow->troubles[DISK].stands);
	watch_tick(&t.watch, t.scene.now + 62);
	assert_false(t.watch.flow->troubles[DISK].stands);
	free(log);
	free(kept);
	stage_end(&t);
}

/* Removed and made anew; another daemon's then, and it stays away. */
static void a_folder_removed(void **state)
{
	(void)state;
	char folder[] = "/tmp/warmside-home-XXXXXX", *lock, *command;
	struct home home, other;

	assert_non_null(mkdtemp(folder));
	command = must_print("rm -r %s", folder);
	lock = state_path(folder, LOCK_FILE);
	assert_true(home_open(&home, folder));
	assert_int_equal(home_look(&home), HOME_SAME);
	assert_int_equal(system(command), 0);
	assert_int_equal(home_look(&home), HOME_BACK);
	assert_int_equal(home_look(&home), HOME_SAME);
	assert_int_equal(system(command), 0);
	assert_true(home_open(&other, folder));
	assert_int_equal(home_look(&home), HOME_GONE);
	assert_int_equal(home_look(&home), HOME_SAME);
	home_close(&other);
	assert_int_equal(home_look(&home), HOME_BACK);
	assert_int_equal(access(lock, F_OK), 0);
	home_close(&home);
	assert_int_equal(system(command), 0);
	free(command);
	free(lock);
}

/* Whatever happened to standing.json: it is kept beside, nothing stands or is
 * shelved for ever in the log, and what is still so is told anew. */
static void what_stood_is_not_known(const char *instead, size_t size)
{
	struct stage t;

	stage_begin(&t, 2, phone, "");
	t.scene.warm[0] = t.scene.warm[1] = 40;
	scene_run(&t.scene, 3);
	scene_ask(&t.scene, ASKED_SHELVE, "E2", 86400);
	stage_tick(&t);
	assert_int_equal(stage_logged(&t, "\"event\":\"raised\""), 2);
	assert_int_equal(stage_logged(&t, "\"event\":\"shelved\""), 1);
	char *kept = state_path(t.folder, STANDING_FILE), *beside = must_print("%s.damaged", kept);

	assert_int_equal(unlink(kept), 0);
	if (instead)
		assert_true(file_replace(kept, instead, size, false));
	stage_kill(&t, 1);
	assert_int_equal(access(beside, F_OK) == 0, instead != NULL);
	assert_int_equal(stage_logged(&t, "\"event\":\"cleared\""), 2);
	assert_int_equal(stage_logged(&t, "\"event\":\"unshelved\""), 1);
	scene_run(&t.scene, 3);
	/* Both again, and that the state folder was damaged. */
	assert_int_equal(stage_logged(&t, "\"event\":\"raised\""), 5);
	free(kept);
	free(beside);
	stage_end(&t);
}

static void standing_damaged(void **state)
{
	(void)state;
	static const char zeros[4096];
	static const char *const texts[] = {
		"", "{", "{\"standing\": [{\"slot\": \"series\", \"ala", "[]", "null", "\xff\xfe",
		/* of a version to come, that keeps it otherwise */
		"{\"version\": 9, \"enclosures\": {\"E1\": {\"stands\": []}}}",
	};

	what_stood_is_not_known(NULL, 0);
	what_stood_is_not_known(zeros, sizeof zeros);
	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
		what_stood_is_not_known(texts[i], strlen(texts[i]));
}

/* A version to come may say more of what we know: that is passed over. */
static void standing_of_a_version_to_come(void **state)
{
	(void)state;
	struct stage t;
	size_t size;

	stage_begin(&t, 1, phone, "");
	t.scene.warm[0] = 40;
	scene_run(&t.scene, 3);
	char *kept = state_path(t.folder, STANDING_FILE);
	char *text = file_read(kept, 1 << 20, &size);
	char *more = must_print("{\"version\": 9, \"moods\": [1], %s", text + 1);

	assert_true(file_replace(kept, more, strlen(more), false));
	stage_kill(&t, 1);
	scene_run(&t.scene, 3);
	assert_int_equal(stage_logged(&t, "\"event\":\"raised\""), 1);
	assert_int_equal(stage_logged(&t, "\"event\":\"cleared\""), 0);
	free(more);
	free(text);
	free(kept);
	stage_end(&t);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_state_folder_in_pieces),
		cmocka_unit_test(a_folder_removed),
		cmocka_unit_test(standing_damaged),
		cmocka_unit_test(standing_of_a_version_to_come),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
