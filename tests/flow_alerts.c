/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The life of an alert through the whole flow, as tables of what must happen
 * when.  Times are hours:minutes since the scene began.
 */
#include "tests/cm.h"

#include "tests/scene.h"

static void reminded_at_a_growing_interval(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.humidity[0] = 40;
	scene_run(&s, 24 * 60 * 3);
	scene_expect(&s, "2:00 raised E1 cool_side humidity below_band today\n"
			 "8:00 reminded E1 cool_side humidity below_band today\n"
			 "20:00 reminded E1 cool_side humidity below_band today\n"
			 "44:00 reminded E1 cool_side humidity below_band today\n"
			 "68:00 reminded E1 cool_side humidity below_band today\n");
	scene_end(&s);
}

static void unsafe_is_reminded_sooner(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.warm[0] = 37;
	scene_run(&s, 12 * 60);
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n"
			 "0:31 reminded E1 warm_side temperature above_limits now\n"
			 "1:31 reminded E1 warm_side temperature above_limits now\n"
			 "3:31 reminded E1 warm_side temperature above_limits now\n"
			 "7:31 reminded E1 warm_side temperature above_limits now\n"
			 "11:31 reminded E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

static void acknowledged_is_quiet_for_a_day_and_stands(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 2, "", "");
	s.warm[0] = 37;
	scene_run(&s, 10);
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n");
	scene_ask(&s, ASKED_ACK, "E2", 0); /* nothing stands there */
	scene_expect(&s, "");
	scene_ask(&s, ASKED_ACK, "E1", 0);
	scene_expect(&s, "0:09 acknowledged E1 warm_side temperature above_limits now\n");
	scene_ask(&s, ASKED_ACK, "", 0); /* once is enough */
	scene_expect(&s, "");
	scene_run(&s, 24 * 60 - 2);
	scene_restart(&s, 0);
	scene_expect(&s, "");
	scene_run(&s, 2);
	scene_expect(&s, "24:09 reminded E1 warm_side temperature above_limits now\n");
	s.warm[0] = 29;
	scene_run(&s, 20);
	scene_expect(&s, "24:15 cleared E1 warm_side temperature above_limits now\n");
	s.warm[0] = 37; /* a new crossing is a new alert */
	scene_run(&s, 3);
	scene_expect(&s, "24:31 raised E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

static void worsening_ends_an_acknowledgement(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.warm[0] = 33;
	scene_run(&s, 70);
	scene_ask(&s, ASKED_ACK, "", 0);
	scene_expect(&s, "1:00 raised E1 warm_side temperature above_band today\n"
			 "1:09 acknowledged E1 warm_side temperature above_band today\n");
	s.warm[0] = 37;
	scene_run(&s, 40);
	scene_expect(&s, "1:11 worsened E1 warm_side temperature above_limits now\n"
			 "1:41 reminded E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

static void unanswered_is_passed_on(void **state)
{
	(void)state;
	struct scene s;
	const char *hooks =
		"webhook \"one\" { endpoint = \"http://127.0.0.1:9/\"  escalate = \"20min\" }\n"
		"webhook \"two\" { endpoint = \"http://127.0.0.1:9/\"  escalate = \"1h\" }\n"
		"webhook \"three\" { endpoint = \"http://127.0.0.1:9/\" }\n";

	scene_begin(&s, 1, hooks, "");
	assert_near(webhook_delay(s.conf, 0), 0, 0);
	assert_near(webhook_delay(s.conf, 1), 1200, 0);
	assert_near(webhook_delay(s.conf, 2), 4800, 0);
	s.warm[0] = 37;
	scene_run(&s, 100);
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n"
			 "0:21 reminded E1 warm_side temperature above_limits now [passed on]\n"
			 "0:31 reminded E1 warm_side temperature above_limits now\n"
			 "1:21 reminded E1 warm_side temperature above_limits now [passed on]\n"
			 "1:31 reminded E1 warm_side temperature above_limits now\n");
	assert_near(s.flow->enclosures[0].series[0].alert.life.reach, 4800, 0);
	scene_end(&s);

	/* Acknowledged in time, and what is not urgent: never. */
	scene_begin(&s, 1, hooks, "");
	s.warm[0] = 37;
	scene_run(&s, 15);
	scene_ask(&s, ASKED_ACK, "E1", 0);
	scene_run(&s, 120);
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n"
			 "0:14 acknowledged E1 warm_side temperature above_limits now\n");
	scene_end(&s);
	scene_begin(&s, 1, hooks, "");
	s.warm[0] = 33;
	scene_run(&s, 180);
	scene_expect(&s, "1:00 raised E1 warm_side temperature above_band today\n");
	scene_end(&s);
}

static void shelved_is_held_and_told_when_it_ends(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	scene_run(&s, 1);
	scene_ask(&s, ASKED_SHELVE, "E1", 3600);
	s.warm[0] = 37;
	scene_run(&s, 30);
	scene_restart(&s, 0);
	scene_run(&s, 29);
	scene_expect(&s, "0:00 shelved E1\n");
	scene_run(&s, 2);
	scene_expect(&s, "1:00 unshelved E1\n"
			 "1:01 raised E1 warm_side temperature above_limits now\n");
	/* What stands may be over meanwhile, but is not reminded. */
	scene_ask(&s, ASKED_SHELVE, "E1", 86400);
	scene_run(&s, 240);
	scene_expect(&s, "1:01 shelved E1\n");
	s.warm[0] = 29;
	scene_run(&s, 10);
	scene_expect(&s, "5:07 cleared E1 warm_side temperature above_limits now\n");
	scene_ask(&s, ASKED_SHELVE, "E1", 0); /* early */
	scene_expect(&s, "5:11 unshelved E1\n");
	scene_ask(&s, ASKED_SHELVE, "E1", 0); /* is not shelved */
	scene_expect(&s, "");
	scene_end(&s);
}

/* Back inside and waiting for the off-delay when it ends: nothing to tell. */
static void shelving_that_ends_on_the_way_back_tells_nothing(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	scene_run(&s, 1);
	scene_ask(&s, ASKED_SHELVE, "E1", 1800);
	s.warm[0] = 37;
	scene_run(&s, 26);
	s.warm[0] = 29;
	scene_run(&s, 60);
	scene_expect(&s, "0:00 shelved E1\n"
			 "0:30 unshelved E1\n");
	scene_end(&s);
}

static void shelving_has_a_cap_and_needs_a_time(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	scene_ask(&s, ASKED_SHELVE, "E1", 99 * 86400.0);
	assert_near(s.flow->enclosures[0].shelved_until, SCENE_BEGIN + SHELVE_MOST, 0);
	/* Kept by a clock that was far ahead: unknown, so not shelved. */
	json_t *kept = json_pack("{s:[],s:[{s:s,s:f}]}", "standing", "shelved", "enclosure", "E1",
				 "until", SCENE_BEGIN + 9e8);

	assert_non_null(kept);
	json_decref(kept);
	scene_end(&s);
}

static void out_of_service_is_another_word(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "in_service = \"no\"\n");
	s.warm[0] = 37;
	s.humidity[0] = 20;
	scene_run(&s, 600);
	s.mute[0] = true;
	scene_run(&s, 60);
	scene_expect(&s, "");
	assert_string_equal(flow_state(s.flow, &s.flow->enclosures[0].series[0]), "silent");
	scene_end(&s);
}

static void chattering_is_told_once_more_then_stands(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	for (int i = 0; i < 5; i++) {
		s.warm[0] = 37;
		scene_run(&s, 3);
		s.warm[0] = 29;
		scene_run(&s, 9);
	}
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n"
			 "0:08 cleared E1 warm_side temperature above_limits now\n"
			 "0:13 raised E1 warm_side temperature above_limits now\n"
			 "0:20 cleared E1 warm_side temperature above_limits now\n"
			 "0:25 raised E1 warm_side temperature above_limits now\n"
			 "0:55 reminded E1 warm_side temperature above_limits now\n");
	assert_true(s.flow->enclosures[0].series[0].alert.chattering);
	scene_restart(&s, 0);
	assert_true(s.flow->enclosures[0].series[0].alert.chattering);
	scene_ask(&s, ASKED_ACK, "", 0);
	scene_run(&s, 90);
	scene_expect(&s, "1:00 acknowledged E1 warm_side temperature above_limits now\n"
			 "1:51 cleared E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

static void most_enclosures_are_the_room(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 5, "", "");
	for (size_t e = 0; e < 5; e++) {
		s.warm[e] = e < 4 ? 22 : 29;
		scene_run(&s, 10);
	}
	/* The first is due while four of five stray. */
	scene_run(&s, 45);
	scene_expect(&s, "1:00 raised E1 warm_side temperature below_band today [room raised 4/5]\n"
			 "1:10 raised E2 warm_side temperature below_band today [joins]\n"
			 "1:20 raised E3 warm_side temperature below_band today [joins]\n"
			 "1:30 raised E4 warm_side temperature below_band today [joins]\n");
	scene_restart(&s, 0);
	s.warm[1] = 14; /* worse than the room was told to be */
	scene_run(&s, 3);
	scene_expect(&s, "1:36 worsened E2 warm_side temperature below_limits now "
			 "[room worsened 4/5]\n");
	s.warm[2] = 14; /* as bad as was told */
	scene_run(&s, 3);
	scene_expect(&s, "1:39 worsened E3 warm_side temperature below_limits now [joins]\n");
	for (size_t e = 0; e < 5; e++)
		s.warm[e] = 29;
	scene_run(&s, 10);
	scene_expect(&s, "1:46 cleared E1 warm_side temperature below_band today [joins]\n"
			 "1:46 cleared E2 warm_side temperature below_limits now [joins]\n"
			 "1:46 cleared E3 warm_side temperature below_limits now [joins]\n"
			 "1:46 cleared E4 warm_side temperature below_band today [room cleared 0/5]\n");
	assert_false(s.flow->matters[TEMPERATURE][BELOW - 1].on);
	scene_end(&s);
}

static void a_room_matter_is_reminded_and_acknowledged_as_one(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 4, "", "");
	for (size_t e = 0; e < 4; e++)
		s.humidity[e] = 40;
	scene_run(&s, 60 * 9);
	scene_expect(&s, "2:00 raised E1 cool_side humidity below_band today [room raised 4/4]\n"
			 "2:00 raised E2 cool_side humidity below_band today [joins]\n"
			 "2:00 raised E3 cool_side humidity below_band today [joins]\n"
			 "2:00 raised E4 cool_side humidity below_band today [joins]\n"
			 "8:00 reminded E1 cool_side humidity below_band today "
			 "[room reminded 4/4]\n");
	scene_ask(&s, ASKED_ACK, "", 0);
	scene_run(&s, 60 * 20);
	scene_expect(&s, "8:59 acknowledged E1 cool_side humidity below_band today\n"
			 "8:59 acknowledged E2 cool_side humidity below_band today\n"
			 "8:59 acknowledged E3 cool_side humidity below_band today\n"
			 "8:59 acknowledged E4 cool_side humidity below_band today\n");
	/* All but one are back: after half a day that one stands alone. */
	for (size_t e = 1; e < 4; e++)
		s.humidity[e] = 50;
	scene_run(&s, 740);
	scene_expect(&s, "29:05 cleared E2 cool_side humidity below_band today [joins]\n"
			 "29:05 cleared E3 cool_side humidity below_band today [joins]\n"
			 "29:05 cleared E4 cool_side humidity below_band today [joins]\n"
			 "32:59 reminded E1 cool_side humidity below_band today "
			 "[room reminded 1/4]\n"
			 "41:05 reminded E1 cool_side humidity below_band today "
			 "[room reminded 1/4]\n");
	assert_int_equal(s.flow->enclosures[0].series[2].alert.joined, ALONE);
	scene_end(&s);
}

static void told_alone_before_it_was_the_room(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 3, "", "");
	s.humidity[0] = 40;
	scene_run(&s, 130);
	s.humidity[1] = 40;
	scene_run(&s, 130);
	scene_expect(&s, "2:00 raised E1 cool_side humidity below_band today\n"
			 "4:10 raised E2 cool_side humidity below_band today "
			 "[room worsened 2/3]\n");
	scene_end(&s);
}

static void one_fault_of_an_enclosure_is_one_message(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 4, "", "");
	s.warm[0] = 33;
	s.cool[0] = 28;
	s.humidity[0] = 40;
	scene_run(&s, 130);
	scene_expect(&s, "1:00 raised E1 warm_side temperature above_band today\n"
			 "1:00 raised E1 cool_side temperature above_band today [joins]\n"
			 "2:00 raised E1 cool_side humidity below_band today [joins]\n");
	s.cool[0] = 37;
	scene_run(&s, 3);
	scene_expect(&s, "2:11 worsened E1 cool_side temperature above_limits now\n");
	s.warm[0] = 29;
	scene_run(&s, 10);
	scene_expect(&s, "2:18 cleared E1 warm_side temperature above_band today [joins]\n");
	s.cool[0] = 25;
	scene_run(&s, 10);
	scene_expect(&s, "2:28 cleared E1 cool_side temperature above_limits now [joins]\n");
	s.humidity[0] = 50;
	scene_run(&s, 10);
	scene_expect(&s, "2:38 cleared E1 cool_side humidity below_band today\n");
	scene_end(&s);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(reminded_at_a_growing_interval),
		cmocka_unit_test(unsafe_is_reminded_sooner),
		cmocka_unit_test(acknowledged_is_quiet_for_a_day_and_stands),
		cmocka_unit_test(worsening_ends_an_acknowledgement),
		cmocka_unit_test(unanswered_is_passed_on),
		cmocka_unit_test(shelved_is_held_and_told_when_it_ends),
		cmocka_unit_test(shelving_that_ends_on_the_way_back_tells_nothing),
		cmocka_unit_test(shelving_has_a_cap_and_needs_a_time),
		cmocka_unit_test(out_of_service_is_another_word),
		cmocka_unit_test(chattering_is_told_once_more_then_stands),
		cmocka_unit_test(most_enclosures_are_the_room),
		cmocka_unit_test(a_room_matter_is_reminded_and_acknowledged_as_one),
		cmocka_unit_test(told_alone_before_it_was_the_room),
		cmocka_unit_test(one_fault_of_an_enclosure_is_one_message),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
