/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A board or a bus is lost: every enclosure it held is named in the title once, whether its
 * probes fell silent one after the other or together.
 */
#include "tests/cm.h"

#include "tests/stage.h"

static const char hook[] = "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n";

static size_t times(const char *text, const char *words)
{
	size_t count = 0;

	for (const char *at = text; (at = strstr(at, words)); at++)
		count++;
	return count;
}

static void a_lost_board_is_told_whole(void **state)
{
	(void)state;
	struct stage t;

	stage_begin(&t, 3, hook, "");
	scene_run(&t.scene, 10);
	for (int i = 0; i < 4; i++)
		t.scene.mute[i] = true;
	/* E2's warm side speaks once more: its cool side is silent by itself first. */
	struct reading last = { .probe = 2, .time = t.scene.now };

	last.has[TEMPERATURE] = true;
	last.value[TEMPERATURE] = 29;
	watch_reading(&t.watch, &last);
	scene_run(&t.scene, 20);
	stage_expect(&t, "phone", "7 probes silent: E2, E1, E3, room\n");

	char *bodies = stage_bodies(&t, "phone");

	assert_int_equal(times(bodies, "- E1: no probe answers any more"), 1);
	assert_int_equal(times(bodies, "- E2: no probe answers any more"), 1);
	assert_int_equal(times(bodies, "- E2 cool side"), 0); /* it has become that */
	free(bodies);
	stage_end(&t);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_lost_board_is_told_whole),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
