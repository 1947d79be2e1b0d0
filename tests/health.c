/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How the watch itself does: from what it meets to what is told, to the
 * second, with a real state folder.
 */
#include "tests/cm.h"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/load.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "daemon/health.h"
#include "tests/stage.h"

static const char hooks[] = "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n"
			    "webhook \"partner\" { endpoint = \"http://127.0.0.1:9/\" }\n";

static void set_up(struct stage *t, const char *more)
{
	char *all = must_print("gather = \"0s\"\n%s%s", hooks, more);

	stage_begin(t, 1, all, "");
	free(all);
	scene_run(&t->scene, 1);
}

static void word(struct stage *t, enum courier_word said, const char *webhook)
{
	struct courier_result result = { .word = said, .message = "msg_1", .alert = "alert_1" };

	snprintf(result.webhook, sizeof result.webhook, "%s", webhook);
	health_take_result(&t->watch, &result);
}

/* Ticks at scene.now + seconds - 1 and + seconds; what stands then. */
static void expect_at(struct stage *t, double since, double seconds, const struct alert *alert)
{
	watch_tick(&t->watch, since + seconds - 1);
	assert_false(alert->stands);
	watch_tick(&t->watch, since + seconds);
	assert_true(alert->stands);
	assert_near(alert->since, since, 0);
	t->scene.now = since + seconds + 60;
}

static void a_webhook_without_an_answer_is_told_after_half_an_hour(void **state)
{
	(void)state;
	struct stage t;

	set_up(&t, "");
	double since = t.watch.flow->now;

	word(&t, COURIER_NO_ANSWER, "phone");
	watch_tick(&t.watch, since + 900);
	word(&t, COURIER_NO_ANSWER, "phone"); /* the same row */
	expect_at(&t, since, 1800, &t.watch.flow->webhooks[0]);
	assert_false(t.watch.flow->webhooks[1].stands);
	watch_tick(&t.watch, since + 1801);
	stage_expect(&t, "phone", "3 probes silent: E1, room\n"); /* not of itself */
	char *bodies = stage_bodies(&t, "partner");

	assert_non_null(strstr(bodies, "webhook phone does not take its messages"));
	free(bodies);
	/* Over with the first word that it takes again. */
	word(&t, COURIER_ANSWERS, "phone");
	watch_tick(&t.watch, since + 1802);
	assert_false(t.watch.flow->webhooks[0].stands);
	assert_int_equal(stage_logged(&t, "\"webhook\":\"phone\""), 2);
	stage_end(&t);
}

static void an_answer_in_time_begins_a_new_row(void **state)
{
	(void)state;
	struct stage t;

	set_up(&t, "");
	double since = t.watch.flow->now;

	word(&t, COURIER_NO_ANSWER, "phone");
	watch_tick(&t.watch, since + 1700);
	word(&t, COURIER_ANSWERS, "phone");
	watch_tick(&t.watch, since + 1750);
	word(&t, COURIER_NO_ANSWER, "phone");
	expect_at(&t, since + 1750, 1800, &t.watch.flow->webhooks[0]);
	stage_end(&t);
}

static void a_refusal_is_told_at_once_by_the_others(void **state)
{
	(void)state;
	struct stage t;

	set_up(&t, "");
	word(&t, COURIER_REFUSED, "phone");
	watch_tick(&t.watch, t.watch.flow->now + 1);
	assert_true(t.watch.flow->webhooks[0].stands);
	watch_tick(&t.watch, t.watch.flow->now + 1);
	stage_expect(&t, "phone", "");
	stage_expect(&t, "partner", "Warmside: webhook phone does not take its messages\n");
	watch_tick(&t.watch, t.watch.flow->now + 300); /* and once */
	stage_expect(&t, "partner", "Warmside: webhook phone does not take its messages\n");
	word(&t, COURIER_TOOK, "phone");
	assert_int_equal(stage_logged(&t, "\"delivered\""), 1);
	watch_tick(&t.watch, t.watch.flow->now + 1);
	/* One message may be refused for good while others are taken. */
	assert_true(t.watch.flow->webhooks[0].stands);
	watch_tick(&t.watch, t.watch.flow->now + 7200);
	assert_false(t.watch.flow->webhooks[0].stands);
	stage_end(&t);
}

/* After a restart nobody knows whether it works: what stood stands. */
static void a_restart_does_not_end_it(void **state)
{
	(void)state;
	struct stage t;

	set_up(&t, "");
	word(&t, COURIER_REFUSED, "phone");
	scene_run(&t.scene, 2);
	stage_restart(&t, 0);
	scene_run(&t.scene, 2);
	assert_true(t.watch.flow->webhooks[0].stands);
	word(&t, COURIER_TOOK, "phone");
	scene_run(&t.scene, 1);
	assert_false(t.watch.flow->webhooks[0].stands);
	stage_end(&t);
}

static void of_a_webhook_nobody_knows_nothing_is_told(void **state)
{
	(void)state;
	struct stage t;

	set_up(&t, "");
	word(&t, COURIER_REFUSED, "stranger");
	scene_run(&t.scene, 2);
	assert_false(t.watch.flow->webhooks[0].stands || t.watch.flow->webhooks[1].stands);
	stage_end(&t);
}

/* The alert log cannot be written for a minute: told, from memory, and over as
 * soon as it can. */
static void a_disk_that_takes_nothing(void **state)
{
	(void)state;
	struct stage t;
	int log;

	set_up(&t, "");
	log = t.watch.teller.log;
	char *path = state_path(t.watch.conf->state, ALERTS_FILE);

	t.watch.teller.log = open(path, O_RDONLY | O_CLOEXEC); /* the same file, and takes nothing */
	free(path);
	scene_ask(&t.scene, ASKED_TEST, "", 0); /* something to be logged */
	watch_tick(&t.watch, t.scene.now);

	double since = t.watch.flow->now;

	expect_at(&t, since, 60, &t.watch.flow->troubles[DISK]);
	close(t.watch.teller.log);
	t.watch.teller.log = log;
	watch_tick(&t.watch, t.scene.now);
	assert_false(t.watch.flow->troubles[DISK].stands);
	watch_tick(&t.watch, t.scene.now + 1);
	assert_int_equal(stage_logged(&t, "\"condition\":\"disk\""), 2);
	assert_int_equal(stage_logged(&t, "\"event\":\"test\""), 1);
	stage_end(&t);
}

static void an_archive_that_fails_for_ten_minutes(void **state)
{
	(void)state;
	struct stage t;

	set_up(&t, "");
	t.watch.failing_since = t.watch.flow->now;
	expect_at(&t, t.watch.failing_since, 600, &t.watch.flow->troubles[ARCHIVE]);
	/* Not failing any more, but nothing has been archived yet. */
	t.watch.failing_since = 0;
	watch_tick(&t.watch, t.scene.now);
	assert_true(t.watch.flow->troubles[ARCHIVE].stands);
	stage_end(&t);
}

static void untested_for_too_long(void **state)
{
	(void)state;
	struct stage t;
	double since;

	set_up(&t, "test_every = \"7d\"\n");
	since = t.watch.flow->tested;
	watch_tick(&t.watch, since + 7 * 86400 - 1);
	assert_false(t.watch.flow->troubles[UNTESTED].stands);
	watch_tick(&t.watch, since + 7 * 86400);
	assert_true(t.watch.flow->troubles[UNTESTED].stands);
	scene_ask(&t.scene, ASKED_TEST, "", 0);
	watch_tick(&t.watch, since + 7 * 86400 + 1);
	assert_false(t.watch.flow->troubles[UNTESTED].stands);
	stage_end(&t);

	set_up(&t, "test_every = \"0s\"\n"); /* nobody wants to be asked */
	watch_tick(&t.watch, since + 400 * 86400.0);
	assert_false(t.watch.flow->troubles[UNTESTED].stands);
	stage_end(&t);
}

/* A step of the clock is no failing, and ends none. */
static void a_step_of_the_clock_changes_nothing(void **state)
{
	(void)state;
	static const double steps[] = { 3600, -3600, 86400, -86400, 300.0 - SCENE_BEGIN };

	for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
		struct stage t;

		set_up(&t, "test_every = \"7d\"\n");
		word(&t, COURIER_NO_ANSWER, "phone");
		t.watch.failing_since = t.watch.disk_since = t.watch.flow->now;
		watch_shift(&t.watch, steps[i]);

		double since = t.watch.flow->now;

		assert_near(t.watch.disk_since, since, 0);
		watch_tick(&t.watch, since + 599);
		assert_false(t.watch.flow->troubles[ARCHIVE].stands);
		watch_tick(&t.watch, since + 600);
		assert_true(t.watch.flow->troubles[ARCHIVE].stands);
		expect_at(&t, since, 1800, &t.watch.flow->webhooks[0]);
		assert_false(t.watch.flow->troubles[UNTESTED].stands);
		watch_tick(&t.watch, since + 7 * 86400);
		assert_true(t.watch.flow->troubles[UNTESTED].stands);
		stage_end(&t);
	}
}

/* A quiet room started in 1970 is asked for a test a week after the last. */
static void a_test_is_due_after_a_start_before_the_time_is_known(void **state)
{
	(void)state;
	struct stage t;

	set_up(&t, "test_every = \"7d\"\n");
	stage_restart(&t, -SCENE_BEGIN);
	watch_tick(&t.watch, 1200);
	watch_shift(&t.watch, SCENE_BEGIN);
	watch_tick(&t.watch, SCENE_BEGIN + 7 * 86400 + 1200);
	assert_true(t.watch.flow->troubles[UNTESTED].stands);
	stage_end(&t);
}

/* ---- probes that should be tested in salts again ------------------------------------ */

#define PROBE(name, day) "probe \"" name "\" { bus = \"rack\"  calibrated = \"" day "\" }\n"

static const struct alert *calibration(const struct stage *t)
{
	return &t->watch.flow->troubles[UNCALIBRATED];
}

static double instant(const char *text)
{
	double out;

	assert_true(parse_instant(text, &out));
	return out;
}

static void a_year_after_its_test_a_probe_is_due(void **state)
{
	(void)state;
	static const struct {
		const char *probe, *due;
	} days[] = {
		{ PROBE("p", "2025-06-30"), "2026-06-30T00:00:00Z" },
		{ PROBE("p", "2024-12-31"), "2025-12-31T00:00:00Z" },
		{ PROBE("p", "2024-02-29"), "2025-03-01T00:00:00Z" },
		{ PROBE("p", "2023-03-01"), "2024-03-01T00:00:00Z" },
		{ PROBE("p", "2023-02-28"), "2024-02-28T00:00:00Z" },
		{ PROBE("p", "2998-06-30"), "2999-06-30T00:00:00Z" }, /* to come, by mistake */
	};

	for (size_t i = 0; i < sizeof days / sizeof *days; i++) {
		struct stage t;
		double due = instant(days[i].due);

		set_up(&t, days[i].probe);
		bool early = due > t.watch.flow->now;

		if (early) {
			watch_tick(&t.watch, due - 1);
			assert_false(calibration(&t)->stands);
		}
		watch_tick(&t.watch, fmax(due, t.watch.flow->now + 1));
		assert_true(calibration(&t)->stands);
		assert_int_equal(calibration(&t)->priority, UPKEEP);
		assert_near(calibration(&t)->since, due, 0);
		stage_end(&t);
	}
	struct stage t;

	set_up(&t, "probe \"p\" { bus = \"rack\" }\n"); /* nobody has said when */
	watch_tick(&t.watch, SCENE_BEGIN + 4000 * 86400.0);
	assert_false(calibration(&t)->stands);
	stage_end(&t);
}

static char *fifty_probes(const char *day)
{
	char *all = must_copy("test_every = \"0s\"\n");

	for (int p = 1; p <= 50; p++) {
		char *longer = must_print("%sprobe \"p%d\" { bus = \"rack\"  calibrated = \"%s\" }\n",
					  all, p, day);

		free(all);
		all = longer;
	}
	return all;
}

static void fifty_probes_are_one_message(void **state)
{
	(void)state;
	struct stage t;
	char *probes = fifty_probes("2025-01-05"), *bodies;

	set_up(&t, probes);
	free(probes);
	scene_run(&t.scene, 30);
	stage_expect(&t, "phone", "Warmside: 50 probes are due for their yearly test in salts\n");
	bodies = stage_bodies(&t, "phone");
	assert_non_null(strstr(bodies, "test of p1 (2025-01-05), p2 (2025-01-05)"));
	assert_non_null(strstr(bodies, "p12 (2025-01-05) and 38 more. Lay them"));
	assert_null(strstr(bodies, "p13 "));
	free(bodies);
	assert_int_equal(stage_logged(&t, "\"condition\":\"uncalibrated\""), 1);
	stage_end(&t);
}

/* The same room with other days, as a reload brings it. */
static struct conf *reload(struct stage *t, const char *probes)
{
	struct scene other;
	char *all = must_print("gather = \"0s\"\n%s%s", hooks, probes);
	struct conf *before = t->scene.conf;

	scene_begin(&other, 1, all, "");
	free(all);
	flow_free(other.flow);
	free(other.log);
	free(other.conf->state);
	other.conf->state = must_copy(t->folder);
	watch_reload(&t->watch, other.conf, 0);
	t->scene.conf = other.conf;
	return before;
}

static void it_stands_until_the_day_is_renewed(void **state)
{
	(void)state;
	struct stage t;
	struct conf *old;

	set_up(&t, PROBE("a", "2025-01-05") PROBE("b", "2024-11-01") PROBE("c", "2025-12-24"));
	scene_run(&t.scene, 5);
	assert_true(calibration(&t)->stands);
	assert_near(calibration(&t)->since, instant("2025-11-01T00:00:00Z"), 0);

	char id[ALERT_ID];

	snprintf(id, sizeof id, "%s", calibration(&t)->id);
	stage_restart(&t, 600);
	scene_run(&t.scene, 5);
	stage_kill(&t, 600);
	scene_run(&t.scene, 5);
	assert_true(calibration(&t)->stands);
	assert_string_equal(calibration(&t)->id, id);
	/* One of the two is renewed: the other is due. */
	old = reload(&t, PROBE("a", "2025-01-05") PROBE("b", "2026-01-05") PROBE("c", "2025-12-24"));
	scene_run(&t.scene, 5);
	conf_free(old);
	assert_true(calibration(&t)->stands);
	assert_int_equal(stage_logged(&t, "\"condition\":\"uncalibrated\""), 1);
	old = reload(&t, PROBE("a", "2026-01-05") PROBE("b", "2026-01-05") PROBE("c", "2025-12-24"));
	scene_run(&t.scene, 5);
	conf_free(old);
	assert_false(calibration(&t)->stands);
	stage_expect(&t, "phone", "Warmside: 2 probes are due for their yearly test in salts\n"
				  "Warmside: no probe is due for a test in salts any more\n");
	assert_int_equal(stage_logged(&t, "\"condition\":\"uncalibrated\""), 2);
	stage_end(&t);
}

/* Whoever leaves it is reminded of it, with what has fallen due meanwhile. */
static void a_reminder_names_what_has_come_since(void **state)
{
	(void)state;
	struct stage t;
	char *bodies;

	set_up(&t, "test_every = \"0s\"\n" PROBE("a", "2025-01-05") PROBE("b", "2025-01-06"));
	scene_run(&t.scene, 2);
	stage_expect(&t, "phone", "Warmside: probe a is due for its yearly test in salts\n");
	scene_run(&t.scene, 1441);
	stage_expect(&t, "phone", "Warmside: probe a is due for its yearly test in salts\n"
				  "Warmside: 2 probes are due for their yearly test in salts\n");
	bodies = stage_bodies(&t, "phone");
	assert_non_null(strstr(bodies, "test of a (2025-01-05), b (2025-01-06). Lay them"));
	free(bodies);
	stage_end(&t);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_webhook_without_an_answer_is_told_after_half_an_hour),
		cmocka_unit_test(an_answer_in_time_begins_a_new_row),
		cmocka_unit_test(a_refusal_is_told_at_once_by_the_others),
		cmocka_unit_test(a_restart_does_not_end_it),
		cmocka_unit_test(of_a_webhook_nobody_knows_nothing_is_told),
		cmocka_unit_test(a_disk_that_takes_nothing),
		cmocka_unit_test(an_archive_that_fails_for_ten_minutes),
		cmocka_unit_test(untested_for_too_long),
		cmocka_unit_test(a_step_of_the_clock_changes_nothing),
		cmocka_unit_test(a_test_is_due_after_a_start_before_the_time_is_known),
		cmocka_unit_test(a_year_after_its_test_a_probe_is_due),
		cmocka_unit_test(fifty_probes_are_one_message),
		cmocka_unit_test(it_stands_until_the_day_is_renewed),
		cmocka_unit_test(a_reminder_names_what_has_come_since),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
