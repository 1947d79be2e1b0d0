/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The state folder, or parts of it, taken away while the watch runs.  What has
 * to do with mounts is in run-gone.sh.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/home.h"
#include "tests/stage.h"

/* Files and folders that somebody takes away while the watch runs are there
 * again a second later, the alert log with all it held; that a part was gone is
 * told at once. */
static void a_state_folder_in_pieces(void **state)
{
	(void)state;
	static const char *const parts[] = { ARCHIVE_FOLDER, OUTBOX_FOLDER, REQUESTS_FOLDER };
	struct stage t;

	stage_begin(&t, 1, "gather = \"0s\"\nwebhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n", "");
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

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_state_folder_in_pieces),
		cmocka_unit_test(a_folder_removed),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
