/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * now.json when there is something odd to say.
 */
#include "tests/cm.h"

#include <math.h>

#include "daemon/nowfile.h"
#include "tests/scene.h"

static json_t *shown(struct scene *scene)
{
	const bool open = true;
	const struct now_extra extra = { .running = true, .bus_count = 1, .bus_open = &open };
	char *text = now_text(scene->flow, &extra);
	json_t *json = json_loads(text, 0, NULL);

	assert_non_null(json);
	free(text);
	return json;
}

/* A number that is none costs what has it, not the whole file. */
static void it_can_be_read_whatever_is_in_it(void **state)
{
	struct scene scene;

	(void)state;
	scene_begin(&scene, 2, "", "");
	scene_run(&scene, 2);
	for (size_t hurt = 0; hurt <= 2; hurt++) {
		/* The second first: what is left out may be the last or all of a list. */
		for (size_t e = 2 - hurt; e < 2; e++) {
			scene.flow->enclosures[e].shelved = true;
			scene.flow->enclosures[e].shelved_until = NAN;
		}
		json_t *json = shown(&scene);
		const json_t *enclosures = json_object_get(json, "enclosures");

		assert_int_equal(json_array_size(enclosures) + hurt,
				 scene.conf->enclosure_count);
		assert_int_equal(json_array_size(json_object_get(json, "buses")), 1);
		json_decref(json);
	}
	scene.flow->enclosures[0].shelved = scene.flow->enclosures[1].shelved = false;
	/* A value that is no number spoils at most what it stands in. */
	scene.flow->enclosures[0].series[0].judged.last.value = NAN;
	json_t *json = shown(&scene);

	assert_true(json_is_number(json_object_get(json, "time")));
	assert_int_equal(json_array_size(json_object_get(json, "buses")), 1);
	json_decref(json);
	scene_end(&scene);
}

int main(void)
{
	const struct CMUnitTest tests[] = { cmocka_unit_test(it_can_be_read_whatever_is_in_it) };

	return cmocka_run_group_tests(tests, NULL, NULL);
}
