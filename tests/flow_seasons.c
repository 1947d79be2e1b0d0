/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A season's ramp through the whole flow: one temperature is straying on one
 * day and in band on the next, though nothing but the date has changed.  The
 * scene begins on 2026-01-05 at 12:00 and changes to day at midnight, which is
 * 12:00, 36:00, 60:00 of the table.
 */
#include "tests/cm.h"

#include "tests/scene.h"

/* Day 23..27 °C -> 11..15 °C in fourths: 20..24 on the 6th, 17..21 on the 7th. */
static const char brumation[] =
	"season \"brumation\" { from = \"01-05\" to = \"03-01\" ramp = \"4d\"\n"
	"  cool_side { temperature { day = \"11..15 C\" limits = \"3..28 C\" } } }\n";

static void a_ramp_moves_past_a_temperature(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", brumation);
	s.cool[0] = 21.5;
	scene_run(&s, 60 * 60);
	scene_expect(&s, "1:00 raised E1 cool_side temperature below_band today\n"
			 "7:00 reminded E1 cool_side temperature below_band today\n"
			 "12:05 cleared E1 cool_side temperature below_band today\n"
			 "37:00 raised E1 cool_side temperature above_band today\n"
			 "43:00 reminded E1 cool_side temperature above_band today\n"
			 "55:00 reminded E1 cool_side temperature above_band today\n");
	scene_end(&s);
}

/* The hour that patience allows began at 36:00, before the daemon ended. */
static void a_restart_in_the_season_changes_nothing(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", brumation);
	s.cool[0] = 23.5;
	scene_run(&s, 11 * 60);
	scene_restart(&s, 0);
	scene_run(&s, 25 * 60 + 30);
	scene_expect(&s, "");
	scene_restart(&s, 0);
	scene_run(&s, 60);
	scene_expect(&s, "37:00 raised E1 cool_side temperature above_band today\n");
	scene_restart(&s, 0);
	scene_run(&s, 60);
	scene_expect(&s, "");
	/* By the band of the 7th, 17..21, it is back when it is at 20.5. */
	s.cool[0] = 20.6;
	scene_run(&s, 30);
	scene_expect(&s, "");
	s.cool[0] = 20.4;
	scene_run(&s, 30);
	scene_expect(&s, "39:05 cleared E1 cool_side temperature above_band today\n");
	scene_end(&s);
}

/* The season's patience holds from its first step on, not before. */
static void other_keys_come_with_the_first_step(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "",
		    "season \"rest\" { from = \"2026-01-05\" until = \"2026-02-01\" ramp = \"4d\"\n"
		    "  warm_side { temperature { patience = \"3h\" } } }\n");
	s.warm[0] = 26;
	scene_run(&s, 70);
	scene_expect(&s, "1:00 raised E1 warm_side temperature below_band today\n");
	s.warm[0] = 29;
	scene_run(&s, 11 * 60);
	scene_expect(&s, "1:15 cleared E1 warm_side temperature below_band today\n");
	s.warm[0] = 26;
	scene_run(&s, 4 * 60);
	scene_expect(&s, "15:10 raised E1 warm_side temperature below_band today\n");
	scene_end(&s);
}

/* Middles of 29 and 25 °C by the ordinary bands, of 13 and 13 in the rest: where the bands
 * differ by no more than 2, no more is wanted, and nothing where they do not differ. */
static void a_gradient_rests_with_the_bands(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "",
		    "gradient = \"3 C\"\n"
		    "season \"brumation\" { from = \"01-05\" to = \"03-01\" ramp = \"2d\"\n"
		    "  warm_side { temperature { day = \"11..15 C\"  limits = \"3..36 C\" } }\n"
		    "  cool_side { temperature { day = \"11..15 C\"  limits = \"3..36 C\" } } }\n");
	s.warm[0] = 27.5;
	s.cool[0] = 26;
	scene_run(&s, 2 * 60);
	scene_expect(&s, "1:00 raised E1 temperature no_gradient today\n");
	/* From 12:00 on the bands are 19..23 and 17..21. */
	s.warm[0] = 29;
	s.cool[0] = 25;
	scene_run(&s, 10 * 60);
	scene_expect(&s, "2:06 cleared E1 temperature no_gradient today\n");
	/* Nothing is wanted in the 10 min of the changeover. */
	s.warm[0] = 21.5;
	s.cool[0] = 20;
	scene_run(&s, 2 * 60);
	scene_expect(&s, "13:10 raised E1 temperature no_gradient today\n");
	s.warm[0] = 22;
	s.cool[0] = 19;
	scene_run(&s, 22 * 60);
	scene_expect(&s, "14:06 cleared E1 temperature no_gradient today\n");
	s.warm[0] = s.cool[0] = 13;
	scene_run(&s, 24 * 60);
	scene_expect(&s, "");
	scene_end(&s);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_ramp_moves_past_a_temperature),
		cmocka_unit_test(a_restart_in_the_season_changes_nothing),
		cmocka_unit_test(other_keys_come_with_the_first_step),
		cmocka_unit_test(a_gradient_rests_with_the_bands),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
