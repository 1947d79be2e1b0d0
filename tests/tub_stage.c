/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A watched tub; see tub_stage.h.
 */
#include "tests/cm.h"

#include "tests/tub_stage.h"

#include "conf/memory.h"

void tub_begin(struct tub *t, const char *more, const char *inside)
{
	*t = (struct tub){ .state = at_rest(25, 0.64), .low = 100, .dry = -1 };
	t->scene = &t->stage.scene;
	char *all = must_print("webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n%s",
			       more);

	stage_begin(&t->stage, 1, all, inside);
	free(all);
	t->scene->humidity[1] = air_humidity_at(20, ROOM);
}

void tub_law(struct tub *t, double to)
{
	struct drying_record record = record_of("E1", to);

	flow_laws(t->stage.watch.flow, &record, 1);
}

void tub_run(struct tub *t, int minutes)
{
	for (int i = 0; i < minutes; i++) {
		double humidity = humidity_of(&t->state, 25);

		if (humidity < 45 && t->dry < 0)
			t->dry = lround((t->scene->now - SCENE_BEGIN) / 60);
		t->low = fmin(t->low, humidity);
		t->scene->humidity[0] = humidity + t->wrong;
		scene_run(t->scene, 1);
		let_pass(&t->state, 25, 60);
	}
}

void tub_mist(struct tub *t)
{
	t->state = at_rest(25, 0.64);
	t->state.vapour += 2.5;
}

size_t tub_told(const struct tub *t, const char *event)
{
	char *words = must_print("\"event\":\"%s\",\"enclosure\":\"E1\",\"place\":\"cool_side\","
				 "\"quantity\":\"humidity\",\"condition\":\"misting_due\","
				 "\"priority\":\"today\"", event);
	size_t count = stage_logged(&t->stage, words);

	free(words);
	return count;
}

long tub_until_told(struct tub *t, size_t times, int most)
{
	while (most-- > 0 && tub_told(t, "raised") < times)
		tub_run(t, 1);
	assert_int_equal(tub_told(t, "raised"), times);
	return lround((t->scene->now - SCENE_BEGIN) / 60) - 1;
}
