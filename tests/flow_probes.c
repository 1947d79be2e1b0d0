/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Probes, gradients and clocks through the whole flow, as tables of what must
 * happen when.  Times are hours:minutes since the scene began.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "tests/scene.h"
#include "tests/world.h"

static void a_lost_gradient(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "gradient = \"3 C\"\n");
	scene_run(&s, 10);
	s.warm[0] = 27.5;
	s.cool[0] = 26;
	scene_run(&s, 65);
	scene_expect(&s, "1:10 raised E1 temperature no_gradient today\n");
	scene_restart(&s, 0);
	s.cool[0] = 23.5;
	scene_run(&s, 10);
	scene_expect(&s, "1:20 cleared E1 temperature no_gradient today\n");
	/* Lost in the evening: night is no way back, though nothing is wanted then. */
	s.cool[0] = 26;
	scene_run(&s, 9 * 60 + 45);
	scene_expect(&s, "2:26 raised E1 temperature no_gradient today\n"
			 "8:26 reminded E1 temperature no_gradient today\n");
	s.cool[0] = 23.5;
	scene_run(&s, 3 * 60);
	scene_expect(&s, "12:15 cleared E1 temperature no_gradient today\n"); /* by day */
	/* One side silent: nobody knows, so nothing is lost. */
	s.warm[0] = 27.5;
	s.cool[0] = 26;
	s.mute[0] = true;
	scene_run(&s, 9);
	scene_expect(&s, "");
	scene_end(&s);
}

static void a_frozen_probe_is_told(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	for (int minute = 0; minute <= 24 * 60; minute++, s.now += 60) {
		struct reading r = { .probe = 1, .time = s.now, .has = { true, true },
				     .value = { 25, 50 } };

		flow_reading(s.flow, &r);
		r.probe = 0;
		r.value[TEMPERATURE] = 29 + minute % 5 * 0.1;
		flow_reading(s.flow, &r);
		r.probe = 2;
		flow_reading(s.flow, &r);
		flow_tick(s.flow, s.now);
	}
	scene_expect(&s, "24:00 raised E1 cool_side frozen upkeep\n");
	scene_run(&s, 2);
	scene_expect(&s, "24:01 cleared E1 cool_side frozen upkeep\n");
	scene_end(&s);
}

static void a_lost_bus_is_silence_everywhere_and_comes_back(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 2, "", "");
	scene_run(&s, 10);
	s.mute[0] = s.mute[1] = s.mute[2] = true;
	scene_run(&s, 20);
	scene_expect(&s, "0:19 raised E1 warm_side silent now\n"
			 "0:19 raised E1 cool_side silent now\n"
			 "0:19 raised E2 warm_side silent now\n"
			 "0:19 raised E2 cool_side silent now\n"
			 "0:19 raised room room silent now\n");
	s.mute[0] = s.mute[1] = s.mute[2] = false;
	scene_run(&s, 1);
	s.mute[0] = true; /* one answer is nothing */
	scene_run(&s, 20);
	scene_expect(&s, "0:35 cleared E2 warm_side silent now\n"
			 "0:35 cleared E2 cool_side silent now\n"
			 "0:35 cleared room room silent now\n"
			 "0:49 reminded E1 warm_side silent now\n"
			 "0:49 reminded E1 cool_side silent now\n");
	scene_end(&s);
}

/* A loose contact: one answer in four minutes, each much too wild. */
static void a_probe_that_answers_now_and_then(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	scene_run(&s, 10);
	for (int minute = 0; minute < 180; minute++) {
		s.mute[0] = minute % 4 != 0;
		scene_run(&s, 1);
	}
	scene_expect(&s, "0:34 raised E1 warm_side silent upkeep\n"
			 "0:34 raised E1 cool_side silent upkeep\n");
	s.mute[0] = false;
	scene_run(&s, 60);
	scene_expect(&s, "4:07 cleared E1 warm_side silent upkeep\n"
			 "4:07 cleared E1 cool_side silent upkeep\n");
	scene_end(&s);
}

static void a_test_is_an_event_of_its_own(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	scene_run(&s, 3);
	scene_ask(&s, ASKED_TEST, "", 0);
	scene_expect(&s, "0:02 test \n");
	assert_near(s.flow->tested, SCENE_BEGIN + 120, 0);
	scene_end(&s);
}

/* The computer wakes in 1970 and learns the time 20 min later: nothing that
 * stood is forgotten, nobody seems silent, nothing stays shelved for ever. */
static void a_start_before_the_time_is_known(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.warm[0] = 33;
	scene_run(&s, 30);
	scene_ask(&s, ASKED_SHELVE, "E1", 1800);
	scene_expect(&s, "0:29 shelved E1\n");
	scene_restart(&s, -SCENE_BEGIN); /* to 1970 */
	scene_run(&s, 20);
	scene_expect(&s, "");
	flow_shift(s.flow, SCENE_BEGIN);
	s.now += SCENE_BEGIN;
	scene_run(&s, 30);
	/* What was kept at 0:29 was taken up at 0:30: that minute is nobody's. */
	scene_expect(&s, "1:00 unshelved E1\n"
			 "1:01 raised E1 warm_side temperature above_band today\n");
	scene_end(&s);
}

static void no_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	(void)context;
	(void)enclosure;
	(void)minute;
}

/* Keeps the reason of the latest silence. */
static void keep_reason(void *context, struct alert_record *record,
			const struct message_context *message)
{
	if (record->condition == SILENT)
		snprintf(context, REASON_TEXT, "%s", message->reason);
}

static void assert_diagnosis(const struct flow *flow, const char *begins)
{
	char *text = flow_diagnose(flow, 0);

	if (!begins)
		assert_null(text);
	else if (!text || strncmp(text, begins, strlen(begins)) != 0)
		fail_msg("\"%s\" does not begin with \"%s\"", text ? text : "", begins);
	free(text);
}

/* What came in place of readings since the last of them, and nothing older. */
static void why_a_probe_is_silent(void **state)
{
	(void)state;
	char reason[REASON_TEXT] = "none";
	const struct flow_sink sink = { .context = reason, .minute = no_minute, .event = keep_reason };
	struct reading r = { .time = SCENE_BEGIN, .has = { true, true }, .value = { 25, 50 } };
	struct world world;

	world_make(&world);
	world.bus.speaks = SPEAKS_MODBUS;
	world.probes[0].address = 7;
	struct flow *flow = flow_new(&world.conf, &sink, r.time);

	flow_failed(flow, 0, 0, GARBLED);
	assert_diagnosis(flow, NULL); /* a recording's port is nobody's */
	flow_port(flow, 0, NULL);
	assert_diagnosis(flow, "garbled");
	flow_reading(flow, &r);
	assert_diagnosis(flow, NULL);
	for (int i = 1; i <= 10; i++) {
		flow_failed(flow, 0, 0, NO_ANSWER);
		r.probe = 1;
		r.time = SCENE_BEGIN + 60 * i;
		flow_reading(flow, &r);
		flow_tick(flow, r.time);
		assert_diagnosis(flow, i <= 3 ? NULL : "no answer at address 7; others");
	}
	assert_int_equal(strncmp(reason, "no answer at address 7; others", 30), 0);
	flow_port(flow, 0, "/dev/x has gone");
	assert_diagnosis(flow, "/dev/x has gone");
	flow_port(flow, 0, NULL);
	flow_reload(flow, &world.conf);
	assert_diagnosis(flow, NULL); /* its port is opened anew */
	flow_port(flow, 0, NULL);
	assert_diagnosis(flow, "no answer at address 7; others");
	/* Values that cannot be are none. */
	r.probe = 0;
	r.value[TEMPERATURE] = r.value[HUMIDITY] = 250;
	for (int i = 0; i < 20; i++)
		flow_reading(flow, &r);
	assert_diagnosis(flow, "it answers with values that cannot be");
	r.value[TEMPERATURE] = 25;
	flow_reading(flow, &r);
	assert_diagnosis(flow, NULL);
	flow_free(flow);
}

/* Whoever is slow is waited for. */
static void a_board_that_has_just_been_opened(void **state)
{
	(void)state;
	char reason[REASON_TEXT], board[] = "{temperature}";
	const struct flow_sink sink = { .context = reason, .minute = no_minute, .event = keep_reason };
	struct world world;

	world_make(&world);
	world.bus.line = board;
	struct flow *flow = flow_new(&world.conf, &sink, SCENE_BEGIN);

	flow_port(flow, 0, NULL);
	flow_tick(flow, SCENE_BEGIN + 180);
	assert_diagnosis(flow, NULL);
	flow_tick(flow, SCENE_BEGIN + 181);
	assert_diagnosis(flow, "nothing comes from the board");
	flow_failed(flow, 0, NO_PROBE, GARBLED);
	assert_diagnosis(flow, "what the board says does not fit");
	flow_free(flow);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_lost_gradient),
		cmocka_unit_test(a_frozen_probe_is_told),
		cmocka_unit_test(a_lost_bus_is_silence_everywhere_and_comes_back),
		cmocka_unit_test(a_probe_that_answers_now_and_then),
		cmocka_unit_test(a_test_is_an_event_of_its_own),
		cmocka_unit_test(a_start_before_the_time_is_known),
		cmocka_unit_test(why_a_probe_is_silent),
		cmocka_unit_test(a_board_that_has_just_been_opened),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
