/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What published practice asks of an unattended watch, part 3: figures about
 * its alerts, from the very log the daemon writes, and the watch over the
 * watch.  How sources are marked: tests/practice_alarms.c.
 */
#include "tests/cm.h"

#include <time.h>

#include <jansson.h>

#include "conf/memory.h"
#include "daemon/health.h"
#include "daemon/pulse.h"
#include "report/alerts_figures.h"
#include "tests/stage.h"

static const char hooks[] = "gather = \"0s\"\n"
			    "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n"
			    "webhook \"partner\" { endpoint = \"http://127.0.0.1:9/\" }\n";

/* The figures of all that has been logged, as of so many s after the begin. */
static struct alert_figures figures(const struct stage *t, double after, struct alerts *alerts)
{
	struct alert_figures out;

	assert_true(alerts_load(t->folder, (struct window){ SCENE_BEGIN, SCENE_BEGIN + 1e6 },
				alerts));
	assert_int_equal(alerts->torn, 0);
	figures_of(alerts, SCENE_BEGIN + after, &out);
	return out;
}

/* More than ten in ten minutes.  HSE CHIS6 (seen); ISA-18.2 (second hand). */
static void flood(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	struct alerts alerts;
	char *titles;

	stage_begin(&t, 24, hooks, "");
	for (size_t e = 0; e < 11; e++) {
		s->warm[e] = 37;
		scene_run(s, 1);
		if (e < 10)
			continue;
		/* Ten are raised, within nine minutes. */
		assert_int_equal(figures(&t, 1000, &alerts).burst, 10);
		alerts_clear(&alerts);
	}
	scene_run(s, 3); /* and the eleventh, ten minutes after the first */
	assert_int_equal(figures(&t, 1000, &alerts).burst, 11);
	alerts_clear(&alerts);
	titles = stage_bodies(&t, "phone");
	assert_non_null(strstr(titles, "11 alerts in 10 min: E11 "));
	assert_null(strstr(titles, "10 alerts in 10 min"));
	free(titles);
	stage_end(&t);
}

/* Raised and cleared again and again: told as such, no more cleared at once,
 * and named among the most frequent.  ISA-18.2 (second hand), which counts three
 * in a minute; readings come once a minute here, so ours counts three in an
 * hour (no source). */
static void chattering(void **state)
{
	(void)state;
	for (int cycles = 2; cycles <= 3; cycles++) {
		struct stage t;
		struct scene *s = &t.scene;
		struct alerts alerts;
		char *bodies;

		stage_begin(&t, 1, hooks, "");
		for (int i = 0; i < cycles; i++) {
			s->warm[0] = 37;
			scene_run(s, 3);
			s->warm[0] = 29;
			scene_run(s, 12);
		}

		struct alert_figures f = figures(&t, 3600, &alerts);

		assert_int_equal(f.frequent[0].count, cycles);
		assert_int_equal(f.events[CLEARED], 2); /* the third stands on */
		assert_int_equal(alerts.standing.count, cycles - 2);
		alerts_clear(&alerts);
		bodies = stage_bodies(&t, "phone");
		assert_int_equal(strstr(bodies, "again and again") != NULL, cycles == 3);
		free(bodies);
		stage_end(&t);
	}
}

/* For more than a day.  ISA-18.2 (second hand); OPC UA part 9 (seen). */
static void standing_stale(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	struct alerts alerts;

	stage_begin(&t, 1, hooks, "");
	s->humidity[0] = 40;
	scene_run(s, 122); /* raised at 2:00 */
	assert_int_equal(figures(&t, 7200 + 86400, &alerts).stale, 0);
	alerts_clear(&alerts);
	assert_int_equal(figures(&t, 7200 + 86401, &alerts).stale, 1);
	assert_int_equal(alerts.standing.count, 1);
	alerts_clear(&alerts);
	stage_end(&t);
}

/* How many, how long until somebody saw it, how long it stood.  OPC UA part 9,
 * 9.2, alarm metrics (seen).  A golden log: tests/alerts_figures. */
static void times(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	struct alerts alerts;

	stage_begin(&t, 2, hooks, "");
	s->warm[0] = 37;
	scene_run(s, 21); /* raised at 0:01, now it is 0:20 */
	scene_ask(s, ASKED_ACK, "E1", 0);
	s->warm[1] = 37;
	scene_run(s, 31); /* raised at 0:22, now it is 0:51 */
	scene_ask(s, ASKED_ACK, "E2", 0);
	s->warm[0] = s->warm[1] = 29;
	scene_run(s, 20); /* cleared at 0:57 */

	struct alert_figures f = figures(&t, 7200, &alerts);

	assert_int_equal(f.events[RAISED], 2);
	assert_int_equal(f.priorities[NOW], 2);
	assert_int_equal(f.waits, 2);
	assert_near(f.longest_wait, 29 * 60, 0);
	assert_near(f.median_wait, 24 * 60, 0);
	assert_near(alert_stood(f.longest, 0), 56 * 60, 0);
	assert_int_equal(alerts.lives.count, 2);
	alerts_clear(&alerts);
	stage_end(&t);
}

/* A quiet day has its record, whole, also one of 23 or 25 hours.  Directive
 * 2010/63/EU, annex III, 2.1(b) (seen); vaccine storage rules, lowest and
 * highest of the day (second hand).  It is there to be asked for, and not posted. */
static void daily_record(void **state)
{
	(void)state;
	static const struct {
		int month, day;
		double hours;
	} days[] = { { 2, 29, 23 }, { 9, 25, 25 }, { 0, 15, 24 } };

	for (size_t i = 0; i < 3; i++) {
		struct tm first = { .tm_year = 126, .tm_mon = days[i].month,
				    .tm_mday = days[i].day, .tm_isdst = -1 };
		struct tm last = first;
		struct scene s;

		last.tm_mday++;

		double begin = (double)mktime(&first), end = (double)mktime(&last);

		scene_begin(&s, 1, "", "");
		scene_restart(&s, begin - SCENE_BEGIN);
		while (s.now <= end) {
			s.cool[0] = s.now < begin + 3600 ? 24 : s.now > end - 3600 ? 26 : 25;
			scene_run(&s, 1);
		}
		scene_expect(&s, "");
		assert_near(s.known, days[i].hours * 3600, 0);
		assert_near(s.least, 24, 0.01);
		assert_near(s.most, 26, 0.01);
		scene_end(&s);
	}
}

/* A sign of life outwards that ends when readings do.  EN 50136, reporting time
 * (in part seen); Directive 2010/63/EU (seen).  A stopped loop beats no more
 * by itself: it is the loop that asks. */
static void heartbeat(void **state)
{
	(void)state;
	struct scene s;
	struct pulse pulse = { 0 };
	double mono = 1000;
	int beats = 0;

	scene_begin(&s, 1, "", "");
	free(s.conf->heartbeat.endpoint);
	s.conf->heartbeat = (struct heartbeat){ .endpoint = must_copy("http://127.0.0.1:9/"),
						.every = 300 };
	assert_null(pulse_step(&pulse, s.flow, mono)); /* nothing was read yet */
	for (int minute = 0; minute < 60; minute++, mono += 60) {
		scene_run(&s, 1);
		char *text = pulse_step(&pulse, s.flow, mono);

		if (!text)
			continue;
		json_t *body = json_loads(text, 0, NULL);
		const char *latest;
		int number;

		assert_int_equal(json_unpack(body, "{s:{s:i,s:s}}", "data", "number", &number,
					     "latest_reading", &latest), 0);
		assert_int_equal(number, ++beats);
		if (minute == 55)
			assert_string_equal(latest, "2026-01-05T12:55:00Z");
		json_decref(body);
		free(text);
	}
	assert_int_equal(beats, 12);
	s.mute[0] = s.mute[1] = true;
	for (int minute = 0; minute < 60; minute++, mono += 60) {
		scene_run(&s, 1);
		char *text = pulse_step(&pulse, s.flow, mono);

		beats += text != NULL;
		free(text);
	}
	assert_int_equal(beats, 13); /* one more, a minute after the last reading */
	s.mute[0] = s.mute[1] = false;
	scene_run(&s, 1);
	char *text = pulse_step(&pulse, s.flow, mono);

	assert_non_null(text);
	free(text);
	scene_end(&s);
}

/* That a way of telling is broken is known, and told by another; nothing is
 * lost meanwhile, nor doubled by a restart.  EN 50136, table 1 (seen); EN 54
 * (from memory).  Tries and pauses: tests/courier_rests. */
static void path_failure_is_known(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	struct courier_result result = { .word = COURIER_NO_ANSWER, .webhook = "phone" };

	stage_begin(&t, 1, hooks, "");
	s->warm[0] = 37;
	scene_run(s, 4);
	health_take_result(&t.watch, &result);
	stage_restart(&t, 0);
	health_take_result(&t.watch, &result); /* as the next courier finds out again */
	scene_run(s, 26);
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n");
	scene_run(s, 7); /* reminded at 0:31 */
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n"
				  "E1 warm side still dangerously hot, 37.0 °C\n");
	stage_expect(&t, "partner", "E1 warm side dangerously hot, 37.0 °C\n"
				    "E1 warm side still dangerously hot, 37.0 °C\n"
				    "Warmside: webhook phone does not take its messages\n");
	stage_end(&t);
}

/* A test goes the whole way, is known for one, is recorded, counts as no alert;
 * that none was made is told.  The Welfare of Farmed Animals Regulations, SI
 * 2000/1870, every 7 days (seen); good distribution practice (from memory). */
static void end_to_end_test_and_overdue(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	char *all = must_print("test_every = \"7d\"\n%s", hooks);
	struct alerts alerts;

	stage_begin(&t, 1, all, "");
	free(all);
	scene_run(s, 3 * 24 * 60);
	scene_ask(s, ASKED_TEST, "", 0);
	scene_run(s, 1);
	stage_expect(&t, "phone", "Test alert from Warmside: nothing is wrong\n");
	stage_expect(&t, "partner", "Test alert from Warmside: nothing is wrong\n");

	struct alert_figures f = figures(&t, 7200, &alerts);

	assert_int_equal(f.events[TESTED], 1);
	assert_int_equal(f.events[RAISED] + f.untold + alerts.lives.count, 0);
	alerts_clear(&alerts);
	scene_run(s, 7 * 24 * 60 - 3);
	stage_expect(&t, "phone", "Test alert from Warmside: nothing is wrong\n");
	scene_run(s, 3);
	stage_expect(&t, "phone", "Test alert from Warmside: nothing is wrong\n"
				  "Warmside: nobody has made a test alert for long\n");
	stage_end(&t);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(flood),
		cmocka_unit_test(chattering),
		cmocka_unit_test(standing_stale),
		cmocka_unit_test(times),
		cmocka_unit_test(daily_record),
		cmocka_unit_test(heartbeat),
		cmocka_unit_test(path_failure_is_known),
		cmocka_unit_test(end_to_end_test_and_overdue),
	};

	setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
