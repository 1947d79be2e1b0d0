/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A scene that is watched; see stage.h.
 */
#include "tests/cm.h"

#include "tests/stage.h"

#include <ftw.h>
#include <stdio.h>

#include "conf/memory.h"
#include "conf/readfile.h"

static void open_watch(struct stage *stage)
{
	assert_true(watch_open(&stage->watch, stage->scene.conf, true, true));
	watch_begin(&stage->watch, stage->scene.now);
	stage->scene.flow = stage->watch.flow;
}

void stage_begin(struct stage *stage, size_t enclosures, const char *more, const char *inside)
{
	snprintf(stage->folder, sizeof stage->folder, "/tmp/warmside-stage-XXXXXX");
	assert_non_null(mkdtemp(stage->folder));
	scene_begin(&stage->scene, enclosures, more, inside);
	flow_free(stage->scene.flow);
	free(stage->scene.conf->state);
	stage->scene.conf->state = must_copy(stage->folder);
	stage->scene.watch = &stage->watch;
	open_watch(stage);
}

static int remove_one(const char *path, const struct stat *about, int kind, struct FTW *walk)
{
	(void)about;
	(void)kind;
	(void)walk;
	return remove(path);
}

void stage_end(struct stage *stage)
{
	watch_close(&stage->watch);
	stage->scene.flow = NULL;
	scene_end(&stage->scene);
	assert_int_equal(nftw(stage->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS), 0);
}

void stage_restart(struct stage *stage, double pause)
{
	watch_finish(&stage->watch);
	watch_settle(&stage->watch);
	stage_kill(stage, pause);
}

void stage_kill(struct stage *stage, double pause)
{
	watch_close(&stage->watch);
	stage->scene.now += pause;
	open_watch(stage);
}

void stage_tick(struct stage *stage)
{
	watch_tick(&stage->watch, stage->scene.now);
}

static char *all_of(const struct stage *stage, const char *webhook, bool bodies)
{
	size_t count, length;
	char **names = outbox_list(stage->watch.teller.outbox, &count);
	char *found = must_copy("");

	for (size_t i = 0; i < count; i++) {
		const char *whose = outbox_webhook(names[i], &length);
		struct outgoing outgoing;

		if (strlen(webhook) != length || strncmp(whose, webhook, length) != 0)
			continue;
		assert_true(outbox_read(stage->watch.teller.outbox, names[i], &outgoing));
		char *longer = must_print("%s%s\n", found,
					  bodies ? outgoing.body : outgoing.title);

		free(found);
		found = longer;
		outgoing_clear(&outgoing);
	}
	outbox_list_free(names, count);
	return found;
}

void stage_expect(struct stage *stage, const char *webhook, const char *titles)
{
	char *found = all_of(stage, webhook, false);

	assert_string_equal(found, titles);
	free(found);
}

char *stage_bodies(struct stage *stage, const char *webhook)
{
	return all_of(stage, webhook, true);
}

size_t stage_logged(const struct stage *stage, const char *words)
{
	char *path = must_print("%s/alerts.jsonl", stage->folder);
	size_t size, count = 0;
	char *text = file_read(path, 1 << 20, &size);

	assert_non_null(text);
	for (const char *at = text; (at = strstr(at, words)); at++)
		count++;
	free(text);
	free(path);
	return count;
}
