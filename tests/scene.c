/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A scene; see scene.h.
 */
#include "tests/cm.h"

#include "tests/scene.h"

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/load.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "daemon/flow_tell.h"
#include "daemon/standing.h"

static char *scene_text(size_t enclosures, const char *more, const char *inside)
{
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);

	fprintf(out,
		"day { from = \"00:00\"  to = \"23:00\"  changeover = \"10min\" }\n"
		"bus \"rack\" { port = \"/dev/null\"  speaks = \"lines\"  every = \"60s\"\n"
		"  line = \"{probe},{temperature},{humidity}\" }\n"
		"species \"example snake\" {\n"
		"  warm_side { temperature { day = \"27..31 C\"  limits = \"15..36 C\"  patience = \"1h\" } }\n"
		"  cool_side { temperature { day = \"23..27 C\"  limits = \"15..36 C\"  patience = \"1h\" }\n"
		"    humidity { day = \"45..60 %%\"  limits = \"25..85 %%\"  patience = \"2h\" } }\n"
		"}\n%s\n", more);
	for (size_t e = 1; e <= enclosures; e++)
		fprintf(out,
			"probe \"w%zu\" { bus = \"rack\" }\nprobe \"c%zu\" { bus = \"rack\" }\n"
			"enclosure \"E%zu\" { species = \"example snake\"\n"
			"  warm_side { probe = \"w%zu\" }\n  cool_side { probe = \"c%zu\" }\n%s }\n",
			e, e, e, e, e, inside);
	fputs("probe \"r\" { bus = \"rack\" }\nroom { probe = \"r\" }\n", out);
	fclose(out);
	return text;
}

static struct conf *load(const char *text)
{
	char path[] = "/tmp/warmside-scene-XXXXXX";
	struct faults faults = { 0 };
	FILE *out = fdopen(mkstemp(path), "w");

	assert_non_null(out);
	fputs(text, out);
	fclose(out);
	struct conf *conf = conf_load(path, &faults);

	for (size_t i = 0; i < faults.count; i++)
		print_error("line %d: %s\n", faults.list[i].line, faults.list[i].text);
	assert_non_null(conf);
	unlink(path);
	faults_clear(&faults);
	return conf;
}

static void take_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	struct scene *scene = context;
	const struct live_enclosure *e1 = &scene->flow->enclosures[0];

	if (enclosure != 0)
		return;
	for (size_t s = 0; s < minute->count; s++) {
		const struct minute_cell *cell = &minute->cells[s];

		if (e1->series[s].key.place != COOL_SIDE ||
		    e1->series[s].key.quantity != TEMPERATURE || cell->ok <= 0)
			continue;
		scene->least = scene->minutes ? fmin(scene->least, cell->value) : cell->value;
		scene->most = scene->minutes ? fmax(scene->most, cell->value) : cell->value;
		scene->known += 60 * cell->ok;
		scene->minutes++;
	}
}

static char *line_of(const struct scene *scene, const struct alert_record *record,
		     const struct message_context *message)
{
	long since = lround(record->time - SCENE_BEGIN);
	char *room = message->room
			     ? must_print(" [room %s %zu/%zu]", event_word(message->told),
					  message->room->out, message->room->able)
			     : must_copy("");
	bool changed = !message->room && !message->quiet && message->told != record->event;
	char *line = must_print(
		"%ld:%02ld%s%02ld %s %s%s%s%s%s%s%s%s%s%s%s%s%s\n", since / 3600, since / 60 % 60,
		since % 60 ? ":" : "", since % 60, event_word(record->event), record->enclosure,
		record->has_place ? " " : "", record->has_place ? place_word(record->place) : "",
		record->has_quantity ? " " : "",
		record->has_quantity ? quantity_word(record->quantity) : "",
		record->has_condition ? " " : "",
		record->has_condition ? condition_word(record->condition) : "",
		record->has_priority ? " " : "",
		record->has_priority ? priority_word(record->priority) : "", room,
		changed ? " as " : "", changed ? event_word(message->told) : "",
		message->joins ? " [joins]" : message->unanswered ? " [passed on]" : "");

	(void)scene;
	free(room);
	/* Whole minutes are written without their seconds. */
	if (since % 60 == 0) {
		char *at = strstr(line, ":") + 3;

		memmove(at, at + 2, strlen(at + 2) + 1);
	}
	return line;
}

static void take_event(void *context, struct alert_record *record,
		       const struct message_context *message)
{
	struct scene *scene = context;
	char *line = line_of(scene, record, message);
	char *longer = must_print("%s%s", scene->log, line);

	free(line);
	free(scene->log);
	scene->log = longer;
	scene->events++;
}

static void begin(struct scene *scene, double now)
{
	const struct flow_sink sink = { .context = scene, .minute = take_minute, .event = take_event };

	scene->flow = flow_new(scene->conf, &sink, now);
}

void scene_begin(struct scene *scene, size_t enclosures, const char *more, const char *inside)
{
	char *text = scene_text(enclosures, more, inside);

	*scene = (struct scene){ .conf = load(text), .enclosures = enclosures,
				 .now = SCENE_BEGIN, .log = must_copy("") };
	free(text);
	scene->first = scene->conf->probe_count - (2 * enclosures + 1);
	for (size_t e = 0; e <= enclosures; e++) {
		scene->warm[e] = 29;
		scene->cool[e] = 25;
		scene->humidity[e] = 50;
	}
	scene->cool[enclosures] = 20;
	begin(scene, scene->now);
}

void scene_end(struct scene *scene)
{
	flow_free(scene->flow);
	conf_free(scene->conf);
	free(scene->log);
}

static void feed(struct scene *scene, size_t probe, double temperature, double humidity)
{
	/* No two readings alike, or the probe would be frozen. */
	double wobble = (double)(lround(scene->now / 60) % 7) * 0.001;
	const struct reading reading = {
		.probe = scene->first + probe, .time = scene->now, .has = { true, true },
		.value = { temperature + wobble, humidity },
	};

	if (scene->watch)
		watch_reading(scene->watch, &reading);
	else
		flow_reading(scene->flow, &reading);
}

void scene_run(struct scene *scene, int minutes)
{
	for (; minutes > 0; minutes--, scene->now += 60) {
		for (size_t e = 0; e < scene->enclosures; e++) {
			if (scene->mute[e])
				continue;
			feed(scene, 2 * e, scene->warm[e], 50);
			feed(scene, 2 * e + 1, scene->cool[e], scene->humidity[e]);
		}
		if (!scene->mute[scene->enclosures])
			feed(scene, 2 * scene->enclosures, scene->cool[scene->enclosures],
			     scene->humidity[scene->enclosures]);
		if (scene->watch)
			watch_tick(scene->watch, scene->now);
		else
			flow_tick(scene->flow, scene->now);
	}
}

void scene_restart(struct scene *scene, double pause)
{
	json_t *kept = standing_json(scene->flow);
	char *text = json_dumps(kept, JSON_REAL_PRECISION(15));

	json_decref(kept);
	flow_free(scene->flow);
	scene->now += pause;
	begin(scene, scene->now);
	kept = json_loads(text, 0, NULL);
	assert_true(standing_restore(scene->flow, kept));
	json_decref(kept);
	free(text);
}

void scene_expect(struct scene *scene, const char *lines)
{
	assert_string_equal(scene->log, lines);
	free(scene->log);
	scene->log = must_copy("");
}

void scene_ask(struct scene *scene, enum asked what, const char *enclosure, double seconds)
{
	struct asking asking = { .what = what, .seconds = seconds, .by = "Ada",
				 .time = scene->flow->now };

	snprintf(asking.enclosure, sizeof asking.enclosure, "%s", enclosure);
	assert_null(flow_ask(scene->flow, &asking));
}
