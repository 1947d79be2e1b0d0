/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a misting is due: what is told of it, through the whole watch.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <time.h>

#include "conf/memory.h"
#include "tests/tub_stage.h"

/* ---- what is told ---------------------------------------------------------------- */

static void told_once_before_it_is_too_dry(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_law(&t, SCENE_BEGIN);
	tub_run(&t, 10 * 60);
	tub_law(&t, SCENE_BEGIN); /* another one comes every night */
	long at = tub_until_told(&t, 1, 24 * 60);

	tub_run(&t, 30 * 60 - (int)at);
	print_message("told %ld min before it was too dry\n", t.dry - at);
	assert_true(t.dry - at >= 5 * 60 && t.dry - at <= 6 * 60 + 15);
	assert_int_equal(tub_told(&t, "raised"), 1);
	assert_int_equal(tub_told(&t, "cleared"), 1);
	assert_int_equal(tub_told(&t, "reminded"), 0);
	assert_int_equal(stage_logged(&t.stage, "\"below_band\""), 2); /* its own matter */
	stage_end(&t.stage);
}

/* It is too dry about half past four in the night. */
static void in_words(void **state)
{
	(void)state;
	static const struct {
		const char *lead, *title;
	} rows[] = { { "misting_due = \"2h\"", "Misting due: E1 will be too dry about Tue 04:" },
		     { "misting_due = \"8h\"", "Misting due: E1 will be too dry about Tue 04:" } };

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct tub t;

		tub_begin(&t, rows[i].lead, "");
		tub_law(&t, SCENE_BEGIN);
		tub_run(&t, 16 * 60);
		char *bodies = stage_bodies(&t.stage, "phone");

		assert_non_null(strstr(bodies, rows[i].title));
		assert_non_null(strstr(bodies, "wanted 45..60 %, limits 25..85 %"));
		assert_non_null(
			strstr(bodies, "If nobody mists, it will be below 45 % about 2026-01-06 04:"));
		free(bodies);
		stage_end(&t.stage);
	}
}

static void nobody_is_told_without(void **state)
{
	(void)state;
	static const struct {
		const char *key;
		double law;     /* s before the begin */
		enum place place;
	} rows[] = {
		{ "", 0, COOL_SIDE },
		{ "misting_due = \"0s\"", 0, COOL_SIDE },
		{ "misting_due = \"6h\"", 14 * 86400.0, COOL_SIDE },
		{ "misting_due = \"6h\" humid_hide { probe = \"c1\" humidity { day = \"45..60 %\" } }",
		  0, HUMID_HIDE },
		{ "misting_due = \"6h\"", 0, EGGS }, /* nothing is measured there */
		{ "misting_due = \"6h\" in_service = \"no\"", 0, COOL_SIDE },
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct tub t;

		tub_begin(&t, "", rows[i].key);
		struct drying_record record = record_of("E1", SCENE_BEGIN - rows[i].law);

		record.place = rows[i].place;
		flow_laws(t.stage.watch.flow, &record, 1);
		tub_run(&t, 18 * 60);
		assert_true(t.dry > 0);
		assert_int_equal(stage_logged(&t.stage, "misting_due"), 0);
		stage_end(&t.stage);
	}
}

/* Misted every morning and evening it never comes so far. */
static void no_crying_wolf(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"90min\"");
	tub_law(&t, SCENE_BEGIN);
	for (int i = 0; i < 20; i++) {
		tub_mist(&t);
		tub_run(&t, 12 * 60);
	}
	assert_true(t.low > 45);
	assert_int_equal(tub_told(&t, "raised"), 0);
	/* Left alone it is told. */
	tub_until_told(&t, 1, 6 * 60);
	stage_end(&t.stage);
}

static void a_misting_ends_it_and_most_of_a_day_passes_before_the_next(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"4h\"");
	tub_law(&t, SCENE_BEGIN);
	long first = tub_until_told(&t, 1, 24 * 60);

	tub_run(&t, 60);
	assert_int_equal(tub_told(&t, "cleared"), 0);
	tub_mist(&t);
	tub_run(&t, 60);
	assert_int_equal(tub_told(&t, "cleared"), 1);
	tub_run(&t, 3 * 60);
	tub_mist(&t); /* so that it is due again after 19 h */
	stage_restart(&t.stage, 0); /* that it was told is known yet */
	tub_law(&t, SCENE_BEGIN);
	long second = tub_until_told(&t, 2, 24 * 60);

	assert_true(t.dry < 0);
	print_message("told again after %ld min\n", second - first);
	assert_true(second - first >= 20 * 60 && second - first <= 20 * 60 + 10);
	/* One message each time; that it is over is none. */
	char *bodies = stage_bodies(&t.stage, "phone");
	size_t messages = 0;

	tub_run(&t, 2);
	for (const char *at = bodies; (at = strstr(at, "\"alert.")); at++)
		messages++;
	assert_int_equal(messages, 1);
	free(bodies);
	stage_end(&t.stage);
}

static void a_restart_repeats_and_forgets_nothing(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_law(&t, SCENE_BEGIN);
	tub_until_told(&t, 1, 24 * 60);
	stage_restart(&t.stage, 300);
	tub_law(&t, SCENE_BEGIN);
	tub_run(&t, 2 * 60);
	stage_kill(&t.stage, 300);
	tub_run(&t, 60);
	scene_ask(t.scene, ASKED_ACK, "", 0);
	tub_run(&t, 1);
	assert_int_equal(tub_told(&t, "acknowledged"), 1);
	assert_int_equal(tub_told(&t, "cleared"), 0);
	tub_run(&t, 6 * 60);
	assert_int_equal(tub_told(&t, "raised"), 1);
	assert_int_equal(tub_told(&t, "cleared"), 1);
	stage_end(&t.stage);
}

static void a_reload_carries_it_or_ends_it(void **state)
{
	(void)state;
	struct tub t;
	struct scene without;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_law(&t, SCENE_BEGIN);
	tub_until_told(&t, 1, 24 * 60);
	flow_reload(t.stage.watch.flow, t.scene->conf);
	tub_run(&t, 60);
	assert_int_equal(tub_told(&t, "cleared"), 0);
	assert_true(t.stage.watch.flow->enclosures[0].due->has_law);
	scene_begin(&without, 1, "", "");
	flow_reload(t.stage.watch.flow, without.conf);
	flow_reload(t.stage.watch.flow, t.scene->conf);
	scene_end(&without);
	tub_run(&t, 1);
	assert_int_equal(tub_told(&t, "cleared"), 1);
	stage_end(&t.stage);
}

/* The clock was an hour behind: what was foretold is an hour later by it. */
static void it_moves_with_the_clock(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_law(&t, SCENE_BEGIN);
	tub_until_told(&t, 1, 24 * 60);
	const struct live_due *due = t.stage.watch.flow->enclosures[0].due;
	double at = due->at, next = due->next;

	watch_shift(&t.stage.watch, -7200); /* else the next look would be hours off */
	assert_near(due->next, next - 7200, 0);
	assert_false(due->air.begun);
	watch_shift(&t.stage.watch, 7200 + 3600);
	t.scene->now += 3600;
	assert_near(due->at, at + 3600, 0);
	tub_run(&t, 4 * 60);
	assert_int_equal(tub_told(&t, "cleared"), 0);
	assert_int_equal(tub_told(&t, "raised"), 1);
	stage_end(&t.stage);
}

/* Somebody breathes at the probe: one look, or two, are not enough. */
static void a_moment_is_not_enough(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_law(&t, SCENE_BEGIN);
	tub_run(&t, 8 * 60 + 20); /* two hours before it is told */
	t.wrong = -3;
	tub_run(&t, 12);
	t.wrong = 0;
	tub_run(&t, 40);
	assert_int_equal(tub_told(&t, "raised"), 0);
	assert_true(tub_until_told(&t, 1, 6 * 60) > 10 * 60);
	stage_end(&t.stage);
}

static void shelved_it_waits(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_law(&t, SCENE_BEGIN);
	scene_ask(t.scene, ASKED_SHELVE, "E1", 12 * 3600);
	assert_true(tub_until_told(&t, 1, 24 * 60) >= 12 * 60);
	stage_end(&t.stage);
}

/* It comes about 2:30 in the night. */
static void what_comes_in_quiet_hours_is_told_before(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "quiet { from = \"22:00\" to = \"07:00\" }", "misting_due = \"1h\"");
	tub_law(&t, SCENE_BEGIN);
	long at = tub_until_told(&t, 1, 24 * 60);

	assert_true(at >= 9 * 60 && at < 10 * 60); /* noon is 0 */
	stage_end(&t.stage);

	/* What comes soon after them, too, so that it is told so long before ... */
	tub_begin(&t, "quiet { from = \"22:00\" to = \"04:00\" }", "misting_due = \"1h\"");
	tub_law(&t, SCENE_BEGIN);
	at = tub_until_told(&t, 1, 24 * 60);
	assert_true(at >= 9 * 60 && at < 10 * 60);
	stage_end(&t.stage);

	/* ... and what comes later is told when they are over. */
	tub_begin(&t, "quiet { from = \"20:00\" to = \"23:30\" }", "misting_due = \"4h\"");
	tub_law(&t, SCENE_BEGIN);
	at = tub_until_told(&t, 1, 24 * 60);
	assert_true(at > 11 * 60 + 30);
	stage_end(&t.stage);
}

/* ---- dryings.jsonl ------------------------------------------------------------------ */

static void write_dryings(const struct tub *t, const char *before, const char *after)
{
	char *path = state_path(t->stage.folder, DRYINGS_FILE);
	struct drying_record other = record_of("E9", SCENE_BEGIN);
	struct drying_record old = record_of("E1", SCENE_BEGIN - 20 * 86400.0);
	struct drying_record last = record_of("E1", SCENE_BEGIN);
	struct drying_record none = { .enclosure = "E1", .place = COOL_SIDE, .from = SCENE_BEGIN,
				      .to = SCENE_BEGIN + 3600 };
	const struct drying_record *all[] = { &old, &last, &other, &none };
	FILE *file = fopen(path, "w");

	assert_non_null(file);
	fputs(before, file);
	for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
		char *line = drying_to_line(all[i]);

		fprintf(file, "%s\n", line);
		free(line);
	}
	fputs(after, file);
	fclose(file);
	free(path);
}

static void the_last_record_of_the_file_counts(void **state)
{
	(void)state;
	struct tub t;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_run(&t, 10);
	write_dryings(&t, "a torn line\n\n{\"enclosure\": 7}\n",
		      "{}\nnull\n\xff\xfe\n{\"enclosure\":\"E1\",\"pla");
	tub_run(&t, 45);
	assert_false(t.stage.watch.flow->enclosures[0].due->has_law);
	tub_run(&t, 10); /* once an hour it is looked at */
	assert_true(t.stage.watch.flow->enclosures[0].due->has_law);
	assert_near(t.stage.watch.flow->enclosures[0].due->record.to, SCENE_BEGIN, 0);
	tub_until_told(&t, 1, 24 * 60);
	/* It is gone: what stands does not depend on it. */
	char *path = state_path(t.stage.folder, DRYINGS_FILE);

	assert_int_equal(remove(path), 0);
	free(path);
	tub_run(&t, 65);
	assert_false(t.stage.watch.flow->enclosures[0].due->has_law);
	assert_int_equal(tub_told(&t, "cleared"), 0);
	stage_end(&t.stage);
}

/* What a power cut leaves of it, as long as may be, ends nothing; nor is a short line read. */
static void zeros_and_empty_lines_are_passed_over(void **state)
{
	(void)state;
	struct tub t;
	char *zeros = must_calloc(800001, 1), *path;

	tub_begin(&t, "", "misting_due = \"6h\"");
	tub_run(&t, 10);
	assert_true(t.stage.watch.flow->enclosures[0].due->lacking.on);
	write_dryings(&t, "", "");
	path = state_path(t.stage.folder, DRYINGS_FILE);
	FILE *file = fopen(path, "a");

	fwrite(zeros, 1, 200000, file);
	memset(zeros, '\n', 800000);
	fputs(zeros, file);
	fwrite("\0\n{}\n", 1, 5, file);
	fclose(file);
	tub_run(&t, 65);
	assert_near(t.stage.watch.flow->enclosures[0].due->record.to, SCENE_BEGIN, 0);
	assert_false(t.stage.watch.flow->enclosures[0].due->lacking.on);
	/* It grows old. */
	t.stage.watch.flow->enclosures[0].due->record.to -= 14 * 86400.0;
	tub_run(&t, 60);
	assert_true(t.stage.watch.flow->enclosures[0].due->lacking.on);
	free(zeros);
	free(path);
	stage_end(&t.stage);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(told_once_before_it_is_too_dry),
		cmocka_unit_test(in_words),
		cmocka_unit_test(nobody_is_told_without),
		cmocka_unit_test(no_crying_wolf),
		cmocka_unit_test(a_misting_ends_it_and_most_of_a_day_passes_before_the_next),
		cmocka_unit_test(a_restart_repeats_and_forgets_nothing),
		cmocka_unit_test(a_reload_carries_it_or_ends_it),
		cmocka_unit_test(it_moves_with_the_clock),
		cmocka_unit_test(a_moment_is_not_enough),
		cmocka_unit_test(shelved_it_waits),
		cmocka_unit_test(what_comes_in_quiet_hours_is_told_before),
		cmocka_unit_test(the_last_record_of_the_file_counts),
		cmocka_unit_test(zeros_and_empty_lines_are_passed_over),
	};

	setenv("TZ", "UTC", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
