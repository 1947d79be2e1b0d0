/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What published practice asks of an unattended watch, part 2: the life of an
 * alert and its messages.  How sources are marked: tests/practice_alarms.c.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <unistd.h>

#include "conf/advice.h"
#include "conf/memory.h"
#include "tests/stage.h"

static const char hook[] = "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n";

/* Normal, unacknowledged, acknowledged, back: every event in every state.
 * ISA-18.2, the figure of alarm states (from memory); OPC UA part 9 (seen).  A
 * fourth state of the standard, back and not acknowledged, is left out: who is
 * told that it is over need not confirm that it was. */
static void lifecycle(void **state)
{
	(void)state;
	enum { NORMAL, UNACKNOWLEDGED, ACKNOWLEDGED_TOO, STATES };
	enum { STRAY, WORSE, RETURN, ACK, WAIT, DOINGS };
	static const char *const events[STATES][DOINGS] = {
		[NORMAL] = { "raised above_band", "raised above_limits", "", "", "" },
		[UNACKNOWLEDGED] = { "", "worsened above_limits", "cleared above_band",
				     "acknowledged above_band", "reminded above_band" },
		[ACKNOWLEDGED_TOO] = { "", "worsened above_limits", "cleared above_band", "", "" },
	};

	for (int from = 0; from < STATES; from++)
		for (int doing = 0; doing < DOINGS; doing++) {
			struct scene s;
			static const double values[] = { [STRAY] = 33, [WORSE] = 37, [RETURN] = 29 };

			scene_begin(&s, 1, "", "");
			if (from != NORMAL) {
				s.warm[0] = 33;
				scene_run(&s, 70);
			}
			if (from == ACKNOWLEDGED_TOO)
				scene_ask(&s, ASKED_ACK, "E1", 0);
			free(s.log);
			s.log = must_copy("");
			if (doing == ACK)
				scene_ask(&s, ASKED_ACK, "E1", 0);
			else if (doing != WAIT)
				s.warm[0] = values[doing];
			scene_run(&s, doing == WAIT ? 8 * 60 : doing == STRAY ? 70 : 10);

			const char *condition = strstr(s.log, "above");
			char *found = must_copy("");

			if (condition) {
				char event[16], what[16];

				assert_int_equal(sscanf(s.log, "%*s %15s", event), 1);
				assert_int_equal(sscanf(condition, "%15s", what), 1);
				free(found);
				found = must_print("%s %s", event, what);
				assert_null(strstr(condition, "\n0")); /* one, and no more */
			}
			if (strcmp(found, events[from][doing]) != 0)
				fail_msg("state %d, doing %d: \"%s\"", from, doing, found);
			free(found);
			scene_end(&s);
		}
}

/* Who, when and why are kept; it stays standing; a new crossing is a new
 * alert.  OPC UA part 9, acknowledgement (seen). */
static void acknowledge(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;

	stage_begin(&t, 1, hook, "");
	s->warm[0] = 37;
	scene_run(s, 10);

	struct asking asking = { .what = ASKED_ACK, .enclosure = "E1", .by = "Ada",
				 .note = "lamp off", .time = s->flow->now };

	assert_null(flow_ask(s->flow, &asking));
	scene_run(s, 300);
	assert_int_equal(stage_logged(&t, "\"acknowledged\""), 1);
	assert_int_equal(stage_logged(&t, "\"Ada\""), 1);
	assert_int_equal(stage_logged(&t, "\"lamp off\""), 1);
	assert_int_equal(stage_logged(&t, "\"cleared\""), 0);
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n");
	s->warm[0] = 29;
	scene_run(s, 20);
	s->warm[0] = 37;
	scene_run(s, 5);
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n"
				  "E1 warm side back in its band after 5 h 10 min\n"
				  "E1 warm side dangerously hot, 37.0 °C\n");
	stage_end(&t);
}

/* What stands is told again, and so is what was acknowledged a day ago.  OPC UA
 * part 9, re-alarm time (seen); NFPA on trouble signals, 24 h (from memory).
 * Every interval: tests/flow_alerts, tests/life. */
static void remind_again(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;

	stage_begin(&t, 1, hook, "");
	s->warm[0] = 37;
	scene_run(s, 8 * 60); /* at 0:01; 0:31, 1:31, 3:31, 7:31 */
	assert_int_equal(stage_logged(&t, "\"reminded\""), 4);
	scene_ask(s, ASKED_ACK, "", 0);
	scene_run(s, 24 * 60 - 1);
	assert_int_equal(stage_logged(&t, "\"reminded\""), 4);
	scene_run(s, 2);
	assert_int_equal(stage_logged(&t, "\"reminded\""), 5);
	stage_end(&t);
}

/* Somebody else is told when nobody answers, and not when somebody did.  UC
 * Davis on animal room alarms (seen); vaccine storage rules, more than one on
 * the list (second hand). */
static void escalation(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	const char *hooks = "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\"  "
			    "escalate = \"20min\" }\n"
			    "webhook \"neighbour\" { endpoint = \"http://127.0.0.1:9/\" }\n";

	stage_begin(&t, 1, hooks, "");
	s->warm[0] = 37;
	scene_run(s, 21);
	stage_expect(&t, "neighbour", "");
	scene_run(s, 3);
	stage_expect(&t, "neighbour", "E1 warm side still dangerously hot, 37.0 °C\n");
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n");
	stage_end(&t);

	stage_begin(&t, 1, hooks, "");
	s->warm[0] = 37;
	scene_run(s, 15);
	scene_ask(s, ASKED_ACK, "E1", 0);
	scene_run(s, 120);
	stage_expect(&t, "neighbour", "");
	stage_end(&t);
}

/* For a time, with a cap and a reason, listed; it ends by itself, then what is
 * still wrong is told; the record goes on.  ISA-18.2 (from memory); OPC UA part
 * 9, 5.8.17 (seen); Guide for the Care and Use of Laboratory Animals, p. 141
 * (seen).  That `warmside shelve` asks for a reason: tests/run-ask. */
static void shelving(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;

	stage_begin(&t, 1, hook, "");
	scene_run(s, 2);

	size_t first = feed_backlog(t.watch.feed), second;

	scene_run(s, 60);
	second = feed_backlog(t.watch.feed);

	struct asking asking = { .what = ASKED_SHELVE, .enclosure = "E1", .by = "Ada",
				 .note = "cleaning", .seconds = 48 * 3600, .time = s->flow->now };

	assert_null(flow_ask(s->flow, &asking)); /* more than the cap */
	assert_near(s->flow->enclosures[0].shelved_until, s->flow->now + SHELVE_MOST, 0);
	s->cool[0] = 37;
	scene_run(s, 60);
	/* As much goes to the archive as in the hour before. */
	assert_int_equal(feed_backlog(t.watch.feed) - second, second - first);
	scene_run(s, 23 * 60);
	stage_expect(&t, "phone", "");
	scene_run(s, 3);
	stage_expect(&t, "phone", "E1 cool side dangerously hot, 37.0 °C\n");
	assert_int_equal(stage_logged(&t, "\"cleaning\""), 1);
	assert_int_equal(stage_logged(&t, "\"unshelved\""), 1);
	stage_end(&t);
}

/* Shelved by the keeper, out of service by the configuration, held through
 * quiet hours by rule: three states, none of them taken for another.  OPC UA
 * part 9, 4.8 and 5.8.2 (seen); ISA-18.2 (from memory). */
static void out_of_service_is_distinct(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	struct conf *conf;

	stage_begin(&t, 4, hook, "");
	conf = s->conf;
	conf->has_quiet = true; /* 12:00 to 15:00: what can wait is logged at once, told later */
	conf->quiet = (struct day){ 12 * 3600, 15 * 3600, 0 };
	conf->enclosures[1].out_of_service = true;
	scene_run(s, 1);
	scene_ask(s, ASKED_SHELVE, "E3", 4 * 3600);
	s->humidity[0] = s->humidity[1] = s->humidity[2] = 40;
	scene_run(s, 175);
	assert_int_equal(stage_logged(&t, "\"raised\""), 1); /* E1's; E2's and E3's are held */
	stage_expect(&t, "phone", "");
	scene_run(s, 10);
	stage_expect(&t, "phone", "E1 too dry, 40 %\n");
	assert_int_equal(stage_logged(&t, "\"shelved\""), 1);
	scene_run(s, 70);
	assert_int_equal(stage_logged(&t, "\"unshelved\""), 1);
	assert_int_equal(stage_logged(&t, "\"raised\""), 2); /* E2 stays out of service */
	stage_end(&t);
}

/* What stood stands, untold twice; a damaged memory silences nothing; shelving
 * that is unknown is none.  OPC UA part 9, 5.8.17.1 (seen); EN 12830, 4.3
 * (second hand).  Sudden ends at every point: tests/run-killpoint. */
static void restart_keeps_state(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;

	stage_begin(&t, 2, hook, "");
	s->warm[0] = 37;
	scene_run(s, 5);
	scene_ask(s, ASKED_SHELVE, "E2", 6 * 3600);
	stage_restart(&t, 120);
	scene_run(s, 5);
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n");
	assert_int_equal(stage_logged(&t, "\"raised\""), 1);
	assert_true(s->flow->enclosures[1].shelved);
	watch_finish(&t.watch);
	watch_settle(&t.watch);
	watch_close(&t.watch);

	char *path = must_print("%s/standing.json", t.folder);

	assert_int_equal(truncate(path, 100), 0);
	free(path);
	assert_true(watch_open(&t.watch, s->conf, true, true));
	watch_begin(&t.watch, s->now);
	s->flow = t.watch.flow;
	assert_false(s->flow->enclosures[1].shelved);
	scene_run(s, 5);
	/* The damage is told with it, and when it is over. */
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n"
				  "E1 warm side dangerously hot, 37.0 °C; 1 more\n"
				  "Warmside: the state folder is written again\n");
	stage_end(&t);
}

/* Twelve enclosures at once: one message that names the room, twelve lines in
 * the log.  OPC UA part 9, first in group (seen); HSE CHIS6 on floods (seen). */
static void one_cause_one_message(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	char *bodies;

	stage_begin(&t, 12, hook, "");
	for (size_t e = 0; e < 12; e++)
		s->humidity[e] = 40;
	scene_run(s, 130);
	bodies = stage_bodies(&t, "phone");
	stage_expect(&t, "phone", "Room: 12 of 12 enclosures too dry, room 50 %\n");
	assert_int_equal(stage_logged(&t, "\"raised\""), 12);
	assert_non_null(strstr(bodies, "E1 "));
	free(bodies);
	stage_end(&t);
}

/* No message without what to look at first; the keeper's own text goes before
 * the shipped one.  ISA-18.2: an alarm needs a response (second hand); Directive
 * 2010/63/EU, annex III, 2.5(c) (from memory). */
static void every_alarm_says_what_to_do(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	char *bodies;

	for (int a = 0; a < ADVICES; a++)
		assert_true(strlen(advice_text(NULL, (enum advice)a)) > 40);
	stage_begin(&t, 1, hook, "");
	s->warm[0] = 37;
	scene_run(s, 5);
	bodies = stage_bodies(&t, "phone");
	assert_non_null(strstr(bodies, advice_text(NULL, ADVICE_HOT)));
	free(bodies);
	stage_end(&t);

	stage_begin(&t, 1, hook, "");
	free(s->conf->species[0].advice[ADVICE_HOT]);
	s->conf->species[0].advice[ADVICE_HOT] = must_copy("Pull the plug of the blue mat.");
	s->warm[0] = 37;
	scene_run(s, 5);
	bodies = stage_bodies(&t, "phone");
	assert_non_null(strstr(bodies, "Pull the plug of the blue mat."));
	assert_null(strstr(bodies, advice_text(NULL, ADVICE_HOT)));
	free(bodies);
	stage_end(&t);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(lifecycle),
		cmocka_unit_test(acknowledge),
		cmocka_unit_test(remind_again),
		cmocka_unit_test(escalation),
		cmocka_unit_test(shelving),
		cmocka_unit_test(out_of_service_is_distinct),
		cmocka_unit_test(restart_keeps_state),
		cmocka_unit_test(one_cause_one_message),
		cmocka_unit_test(every_alarm_says_what_to_do),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
