/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a start finds of the time before: each kind of alert through a restart,
 * files that are hurt or of an older version, and state folders of no use.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/standing.h"
#include "tests/stage.h"

/* ---- each kind, through a restart ------------------------------------------------ */

/* E1's cool side gives the very same for so many minutes. */
static void stuck(struct scene *s, int minutes)
{
	for (; minutes > 0; minutes--, s->now += 60) {
		double wobble = (double)(lround(s->now / 60) % 7) * 0.1;

		for (size_t probe = 0; probe < 3; probe++) {
			const struct reading r = {
				.probe = probe, .time = s->now, .has = { true, true },
				.value = { probe == 1 ? 25 : 29 + wobble, 50 },
			};

			flow_reading(s->flow, &r);
		}
		flow_tick(s->flow, s->now);
	}
}

static void a_frozen_probe(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	stuck(&s, 24 * 60 + 1);
	scene_expect(&s, "24:00 raised E1 cool_side frozen upkeep\n");
	/* The same again is no change, however often the daemon is begun anew ... */
	for (int i = 0; i < 3; i++) {
		scene_restart(&s, 60);
		flow_tick(s.flow, s.now);
		stuck(&s, 60);
	}
	scene_expect(&s, "");
	/* ... and the first other value is one. */
	scene_restart(&s, 60);
	scene_run(&s, 1);
	scene_expect(&s, "27:05 cleared E1 cool_side frozen upkeep\n");
	scene_end(&s);
}

static void a_silent_probe(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	scene_run(&s, 10);
	s.mute[0] = true;
	scene_run(&s, 20);
	scene_expect(&s, "0:19 raised E1 warm_side silent now\n"
			 "0:19 raised E1 cool_side silent now\n");
	scene_restart(&s, 60);
	scene_run(&s, 5);
	scene_expect(&s, "");
	/* One answer is nothing: it has to show that it is steady. */
	s.mute[0] = false;
	scene_run(&s, 1);
	scene_expect(&s, "");
	scene_run(&s, 10);
	scene_expect(&s, "0:41 cleared E1 warm_side silent now\n"
			 "0:41 cleared E1 cool_side silent now\n");
	scene_end(&s);
}

/* One scene is begun anew while it runs away, the other is not; there it stands for a
 * little longer, until ten minutes say again where the temperature leads. */
static void a_runaway(void **state)
{
	(void)state;
	struct scene s;

	for (int restarted = 0; restarted < 2; restarted++) {
		scene_begin(&s, 1, "", "");
		scene_run(&s, 20);
		for (int minute = 0; minute < 16; minute++) {
			if (restarted && minute == 12)
				scene_restart(&s, 0);
			s.cool[0] += 0.5;
			scene_run(&s, 1);
		}
		scene_expect(&s, "0:30 raised E1 cool_side temperature runaway now\n");
		s.cool[0] = 25;
		scene_run(&s, 30);
		scene_expect(&s, restarted ? "0:46 cleared E1 cool_side temperature runaway now\n"
					   : "0:41 cleared E1 cool_side temperature runaway now\n");
		scene_end(&s);
	}
}

/* ---- files as they should not be -------------------------------------------------- */

static void restore(struct scene *s, const char *text)
{
	json_t *whole = json_loads(text, 0, NULL);

	assert_non_null(whole);
	assert_true(standing_restore(s->flow, whole));
	json_decref(whole);
}

static void an_older_version_is_understood(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	restore(&s, "{\"time\": 1767614400, \"standing\": [{\"enclosure\": \"E1\", \"place\": "
		    "\"cool_side\", \"silence\": {\"id\": \"a1\", \"condition\": \"silent\", "
		    "\"priority\": \"now\", \"since\": 1767610800}}], \"archive\": {\"id\": \"a2\", "
		    "\"condition\": \"archive\", \"priority\": \"upkeep\", \"since\": 1767610800}}");
	assert_true(s.flow->enclosures[0].places[COOL_SIDE].silence.stands);
	assert_string_equal(s.flow->enclosures[0].places[COOL_SIDE].silence.id, "a1");
	assert_true(s.flow->troubles[ARCHIVE].stands);
	assert_string_equal(s.flow->troubles[ARCHIVE].id, "a2");
	assert_false(s.flow->troubles[CLOCK].stands);
	scene_expect(&s, "");
	scene_end(&s);
}

/* Each entry but one is wrong in one thing: that thing is not believed, and
 * costs nothing of what stands beside it. */
static void what_is_hurt_costs_nothing_else(void **state)
{
	(void)state;
	struct scene s;
	const struct live_series *series;

	scene_begin(&s, 2, "", "");
	restore(&s, "{\"time\": 1767614400, \"standing\": [7, {}, {\"slot\": \"series\"},"
		    "{\"slot\": \"frozen\", \"enclosure\": \"E1\", \"place\": \"cool_side\", \"repeat\": 3},"
		    "{\"slot\": \"series\", \"enclosure\": \"E1\", \"place\": \"cool_side\", \"quantity\": "
		    "\"temperature\", \"band\": {\"side\": \"below\"}, \"runaway\": {\"side\": 0, \"since\": 1,"
		    " \"due\": true}, \"limits\": {\"side\": \"above\", \"since\": 1.7e63, \"outside\": 1, "
		    "\"worst\": 1, \"readings\": 1, \"due\": true}, \"alert\": {\"id\": \"bad\", \"condition\": \"warm\"}},"
		    "{\"slot\": \"series\", \"enclosure\": \"E2\", \"place\": \"cool_side\", \"quantity\": "
		    "\"humidity\", \"alert\": {\"id\": \"good\", \"condition\": \"below_band\", \"priority\": "
		    "\"today\", \"since\": 1767610800, \"life\": {\"told\": 99}}}],"
		    "\"matters\": [1, {\"quantity\": \"light\", \"side\": 1}, {\"quantity\": \"humidity\", "
		    "\"side\": 9, \"since\": 1, \"wide\": 1, \"priority\": \"today\", \"most\": 2, "
		    "\"cleared\": 0}],"
		    "\"shelved\": [{\"enclosure\": \"E9\", \"until\": 1767618000}, {\"enclosure\": \"E1\", "
		    "\"until\": 9e12}, {\"enclosure\": \"E2\", \"until\": \"late\"}]}");
	for (size_t i = 0; i < s.flow->enclosures[0].count; i++) {
		series = &s.flow->enclosures[0].series[i];
		assert_false(series->alert.stands);
		assert_int_equal(series->judged.band.side, INSIDE);
		assert_int_equal(series->judged.limits.side, INSIDE);
		assert_int_equal(series->judged.runaway.side, INSIDE);
		assert_false(series->judged.runaway.due);
	}
	for (size_t i = 0; i < s.flow->enclosures[1].count; i++) {
		series = &s.flow->enclosures[1].series[i];
		assert_int_equal(series->alert.stands, series->key.place == COOL_SIDE &&
							       series->key.quantity == HUMIDITY);
	}
	assert_false(s.flow->enclosures[0].shelved);
	assert_false(s.flow->enclosures[1].shelved);
	for (int q = 0; q < QUANTITIES; q++)
		for (int side = 0; side < SIDES; side++)
			assert_false(s.flow->matters[q][side].on);
	scene_end(&s);
}

static char *in_folder(const struct stage *stage, const char *name)
{
	return must_print("%s/%s", stage->folder, name);
}

static void write_over(const struct stage *stage, const char *name, const char *text)
{
	char *path = in_folder(stage, name);
	FILE *out = fopen(path, "w");

	assert_non_null(out);
	fputs(text, out);
	assert_int_equal(fclose(out), 0);
	free(path);
}

/* Cut in the middle it is put aside whole, and what still strays is raised anew. */
static void a_cut_file_is_put_aside(void **state)
{
	(void)state;
	struct stage st;
	size_t size;

	stage_begin(&st, 1, "webhook \"phone\" { endpoint = \"http://127.0.0.1:1/\" }\n", "");
	st.scene.cool[0] = 39;
	scene_run(&st.scene, 10);
	assert_int_equal(stage_logged(&st, "\"raised\""), 1);
	write_over(&st, "standing.json", "{\"time\": 17676144");
	stage_kill(&st, 60);
	char *path = in_folder(&st, "standing.json.damaged");
	char *text = file_read(path, 1000, &size);

	assert_non_null(text);
	assert_string_equal(text, "{\"time\": 17676144");
	free(text);
	free(path);
	scene_run(&st.scene, 10);
	/* The second one, and that the state folder was damaged. */
	assert_int_equal(stage_logged(&st, "\"raised\""), 3);
	stage_end(&st);
}

/* A folder in its place: it cannot be read nor written, and the watch goes on. */
static void a_file_that_cannot_be_read_stops_nothing(void **state)
{
	(void)state;
	struct stage st;
	struct stat status;

	stage_begin(&st, 1, "webhook \"phone\" { endpoint = \"http://127.0.0.1:1/\" }\n", "");
	scene_run(&st.scene, 10);
	char *path = in_folder(&st, "standing.json");

	assert_int_equal(unlink(path), 0);
	assert_int_equal(mkdir(path, 0700), 0);
	stage_kill(&st, 60);
	st.scene.cool[0] = 39;
	scene_run(&st.scene, 10);
	assert_int_equal(stage_logged(&st, "\"condition\":\"above_limits\""), 1);
	assert_int_equal(stage_logged(&st, "\"condition\":\"disk\""), 1); /* told of, too */
	/* As soon as it can be, it is written. */
	assert_int_equal(rmdir(path), 0);
	scene_run(&st.scene, 2);
	assert_int_equal(stat(path, &status), 0);
	assert_true(S_ISREG(status.st_mode) && status.st_size > 0);
	stage_kill(&st, 60);
	scene_run(&st.scene, 10);
	assert_int_equal(stage_logged(&st, "\"condition\":\"above_limits\""), 1);
	assert_int_equal(stage_logged(&st, "\"condition\":\"disk\""), 2); /* over */
	free(path);
	stage_end(&st);
}

/* ---- state folders of no use ------------------------------------------------------- */

/* What the log says while a watch is opened on this folder, in vain. */
static void assert_unusable(const char *folder, const char *says)
{
	FILE *said = tmpfile();
	char text[2000] = "";
	const struct conf conf = { .state = (char *)folder };
	struct watch watch;
	int before = dup(STDERR_FILENO);

	assert_non_null(said);
	assert_true(dup2(fileno(said), STDERR_FILENO) >= 0);
	bool good = watch_open(&watch, &conf, false, true);

	watch_close(&watch);
	assert_true(dup2(before, STDERR_FILENO) >= 0);
	close(before);
	rewind(said);
	assert_true(fread(text, 1, sizeof text - 1, said) > 0);
	fclose(said);
	assert_false(good);
	if (!strstr(text, says))
		fail_msg("\"%s\" does not say \"%s\"", text, says);
}

static void folders_of_no_use(void **state)
{
	(void)state;
	struct stage st;

	stage_begin(&st, 1, "", "");
	char *file = in_folder(&st, "a-file"), *below = in_folder(&st, "a-file/state"),
	     *deep = in_folder(&st, "none/state"), *other = in_folder(&st, "other"),
	     *requests = in_folder(&st, "other/requests"), *lock = in_folder(&st, "other/lock");

	assert_unusable(NULL, "the configuration names no state folder");
	assert_unusable(st.folder, "a warmsided runs already on ");
	write_over(&st, "a-file", "");
	assert_unusable(file, "a-file: a file is where a folder must be");
	assert_unusable(below, "a-file/state: a file is where a folder must be");
	assert_unusable(deep, "none/state: the folder it is to lie in does not exist");
	assert_unusable("/proc/state", "/proc/state: the folder it is to lie in does not exist");
	assert_int_equal(mkdir(other, 0700), 0);
	write_over(&st, "other/requests", "");
	assert_unusable(other, "other/requests: a file is where a folder must be");
	assert_int_equal(unlink(requests), 0);
	assert_int_equal(mkdir(lock, 0700), 0);
	assert_unusable(other, "other/lock cannot be used: Is a directory");
	free(file);
	free(below);
	free(deep);
	free(other);
	free(requests);
	free(lock);
	stage_end(&st);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_frozen_probe),
		cmocka_unit_test(a_silent_probe),
		cmocka_unit_test(a_runaway),
		cmocka_unit_test(an_older_version_is_understood),
		cmocka_unit_test(what_is_hurt_costs_nothing_else),
		cmocka_unit_test(a_cut_file_is_put_aside),
		cmocka_unit_test(a_file_that_cannot_be_read_stops_nothing),
		cmocka_unit_test(folders_of_no_use),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
