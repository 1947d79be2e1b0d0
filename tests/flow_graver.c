/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whatever is graver than the keeper believes is told: shelved, acknowledged,
 * or part of a matter that is told already.  Times are hours:minutes since the
 * scene began.
 */
#include "tests/cm.h"

#include "tests/scene.h"

static const char *const two_webhooks =
	"webhook \"one\" { endpoint = \"http://127.0.0.1:9/\"  escalate = \"20min\" }\n"
	"webhook \"two\" { endpoint = \"http://127.0.0.1:9/\" }\n";

static void what_grew_worse_while_shelved_is_told_after(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.warm[0] = 33;
	scene_run(&s, 70);
	scene_ask(&s, ASKED_ACK, "", 0);
	scene_ask(&s, ASKED_SHELVE, "E1", 1800);
	s.warm[0] = 37;
	scene_run(&s, 60);
	scene_expect(&s, "1:00 raised E1 warm_side temperature above_band today\n"
			 "1:09 acknowledged E1 warm_side temperature above_band today\n"
			 "1:09 shelved E1\n"
			 "1:39 unshelved E1\n"
			 "1:40 worsened E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

/* Eased and back within the hour: what was told still holds, at its pace. */
static void what_comes_back_within_the_hour_is_reminded_as_it_was(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.warm[0] = 37;
	scene_run(&s, 10);
	s.warm[0] = 33;
	scene_run(&s, 35);
	s.warm[0] = 37;
	scene_run(&s, 60);
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n"
			 "0:31 reminded E1 warm_side temperature above_band today\n"
			 "1:31 reminded E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

static void what_comes_back_after_it_was_acknowledged_is_told(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.warm[0] = 37;
	scene_run(&s, 6);
	scene_ask(&s, ASKED_ACK, "", 0);
	s.warm[0] = 33;
	scene_run(&s, 35);
	s.warm[0] = 37;
	scene_run(&s, 5);
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n"
			 "0:05 acknowledged E1 warm_side temperature above_limits now\n"
			 "0:42 worsened E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

static void the_other_side_in_danger_takes_the_lead(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 4, two_webhooks, "");
	s.cool[0] = 28;
	scene_run(&s, 90);
	scene_expect(&s, "1:00 raised E1 cool_side temperature above_band today\n");
	s.warm[0] = 37;
	scene_run(&s, 60);
	scene_expect(&s, "1:31 raised E1 warm_side temperature above_limits now as worsened\n"
			 "1:51 reminded E1 warm_side temperature above_limits now [passed on]\n"
			 "2:01 reminded E1 warm_side temperature above_limits now\n");
	s.warm[0] = 29;
	scene_run(&s, 70);
	scene_expect(&s, "2:35 cleared E1 warm_side temperature above_limits now [joins]\n"
			 "3:01 reminded E1 cool_side temperature above_band today\n");
	s.warm[0] = 37; /* again, while the cool side has been too hot all along */
	scene_run(&s, 5);
	scene_expect(&s, "3:41 raised E1 warm_side temperature above_limits now as worsened\n");
	scene_end(&s);
}

static void an_acknowledged_leader_hides_no_danger(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 4, "", "");
	s.warm[0] = 37;
	scene_run(&s, 5);
	scene_ask(&s, ASKED_ACK, "", 0);
	s.cool[0] = 37;
	scene_run(&s, 5);
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n"
			 "0:04 acknowledged E1 warm_side temperature above_limits now\n"
			 "0:06 raised E1 cool_side temperature above_limits now as worsened\n");
	scene_end(&s);
}

static void a_room_matter_is_as_urgent_as_its_most_urgent_part(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 3, two_webhooks, "");
	s.warm[0] = 37;
	scene_run(&s, 5);
	s.warm[1] = s.warm[2] = 33;
	scene_run(&s, 150);
	scene_expect(&s,
		     "0:01 raised E1 warm_side temperature above_limits now\n"
		     "0:21 reminded E1 warm_side temperature above_limits now [passed on]\n"
		     "0:31 reminded E1 warm_side temperature above_limits now\n"
		     "1:05 raised E2 warm_side temperature above_band today [room worsened 3/3]\n"
		     "1:05 raised E3 warm_side temperature above_band today [joins]\n"
		     "1:35 reminded E1 warm_side temperature above_limits now [room reminded 3/3]\n");
	assert_int_equal(s.flow->matters[TEMPERATURE][ABOVE - 1].gravest, NOW);
	assert_near(s.flow->matters[TEMPERATURE][ABOVE - 1].life.reach, 1200, 0);
	scene_end(&s);
}

static void another_animal_in_danger_is_told_after_an_acknowledgement(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 3, "", "");
	for (size_t e = 0; e < 3; e++)
		s.warm[e] = 33;
	scene_run(&s, 90);
	s.warm[0] = 37;
	scene_run(&s, 9);
	scene_expect(&s,
		     "1:00 raised E1 warm_side temperature above_band today [room raised 3/3]\n"
		     "1:00 raised E2 warm_side temperature above_band today [joins]\n"
		     "1:00 raised E3 warm_side temperature above_band today [joins]\n"
		     "1:31 worsened E1 warm_side temperature above_limits now [room worsened 3/3]\n");
	scene_ask(&s, ASKED_ACK, "", 0);
	scene_expect(&s, "1:38 acknowledged E1 warm_side temperature above_limits now\n"
			 "1:38 acknowledged E2 warm_side temperature above_band today\n"
			 "1:38 acknowledged E3 warm_side temperature above_band today\n");
	s.warm[2] = 38;
	scene_run(&s, 5);
	scene_expect(&s, "1:40 worsened E3 warm_side temperature above_limits now "
			 "[room worsened 3/3]\n");
	scene_end(&s);
}

static void beyond_its_limits_is_told_of_humidity_too(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 3, "", "");
	for (size_t e = 0; e < 3; e++)
		s.humidity[e] = 40;
	scene_run(&s, 150);
	scene_expect(&s, "2:00 raised E1 cool_side humidity below_band today [room raised 3/3]\n"
			 "2:00 raised E2 cool_side humidity below_band today [joins]\n"
			 "2:00 raised E3 cool_side humidity below_band today [joins]\n");
	s.humidity[0] = 15;
	scene_run(&s, 130);
	scene_expect(&s, "4:30 worsened E1 cool_side humidity below_limits today "
			 "[room worsened 3/3]\n");
	scene_end(&s);
}

/* A lamp that dries its spot is no reason to be silent of the measured cool side. */
static void a_computed_humidity_hides_no_measured_one(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1,
		    "bus \"bare\" { port = \"/dev/zero\"  speaks = \"lines\"  every = \"60s\"\n"
		    "  line = \"{probe},{temperature}\" }\nprobe \"spot\" { bus = \"bare\" }\n",
		    "hot_spot { probe = \"spot\"  humidity { day = \"30..60 %\"  patience = \"1h\" } }\n");
	for (int minute = 0; minute < 240; minute++) {
		const struct reading spot = { .probe = 0, .time = s.now, .has = { true, false },
					      .value = { 38 + minute % 7 * 0.001, 0 } };

		if (minute == 70)
			s.humidity[0] = 40;
		flow_reading(s.flow, &spot);
		scene_run(&s, 1);
	}
	scene_expect(&s, "1:01 raised E1 hot_spot humidity below_band today\n"
			 "3:10 raised E1 cool_side humidity below_band today\n");
	scene_end(&s);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_grew_worse_while_shelved_is_told_after),
		cmocka_unit_test(what_comes_back_within_the_hour_is_reminded_as_it_was),
		cmocka_unit_test(what_comes_back_after_it_was_acknowledged_is_told),
		cmocka_unit_test(the_other_side_in_danger_takes_the_lead),
		cmocka_unit_test(an_acknowledged_leader_hides_no_danger),
		cmocka_unit_test(a_room_matter_is_as_urgent_as_its_most_urgent_part),
		cmocka_unit_test(another_animal_in_danger_is_told_after_an_acknowledgement),
		cmocka_unit_test(beyond_its_limits_is_told_of_humidity_too),
		cmocka_unit_test(a_computed_humidity_hides_no_measured_one),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
