/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside salt: a probe that lay in a jar over a saturated salt.
 */
#include "report/salt_view.h"

#include <math.h>
#include <stdlib.h>

#include "conf/words.h"
#include "report/gather.h"
#include "report/past.h"

enum { ROOM_BEFORE = 86400 }; /* s of the room's air before a jar was closed */

/* What the probe itself had read.  At an end of the range a correction cannot be taken off:
 * above is told as the end, below as nothing. */
static void take_off(struct series_rows *rows, const struct correction *correction)
{
	static const double nearly = 0.05; /* % */

	for (size_t i = 0; i < rows->count; i++) {
		struct row *row = &rows->list[i];
		double corrected = row->value;

		row->value = (corrected - correction->offset) / correction->slope;
		if (corrected >= 100 - nearly)
			row->value = 100;
		else if (corrected <= nearly)
			row->has_value = false;
	}
}

/* The coarsest step that most minutes' values are multiples of: a probe that tells whole or
 * half percents.  0 when none is. */
static double seen_step(const struct series_rows *rows)
{
	static const double steps[] = { 1, 0.5, 0.1 };
	static const double most_off = 0.002; /* % */
	enum { LEAST = 60 };

	for (size_t s = 0; s < sizeof steps / sizeof *steps; s++) {
		size_t known = 0, on = 0;

		for (size_t i = 0; i < rows->count; i++) {
			double off = remainder(rows->list[i].value, steps[s]);

			known += rows->list[i].has_value;
			on += rows->list[i].has_value && fabs(off) <= most_off;
		}
		if (known >= LEAST && 10 * on >= 7 * known)
			return steps[s];
	}
	return 0;
}

static double resolution_of(const struct probe *probe, const struct series_rows *rows)
{
	const struct register_at *at = &probe->registers[HUMIDITY];

	return fmax(at->present ? 1 / at->divisor : 0, seen_step(rows));
}

/* The room's air about that time, when another probe measures it. */
static bool read_room(const struct salt_view *view, struct window window, double step,
		      struct room_past *out)
{
	const struct conf *conf = view->request->conf;
	const struct enclosure *room = find_enclosure(conf, "room");

	*out = (struct room_past){ 0 };
	if (!room || !room->places[ROOM_AIR].watched ||
	    &conf->probes[room->places[ROOM_AIR].probe] == view->probe)
		return false;
	window.from -= ROOM_BEFORE;
	room_past_read(conf, window, step, out);
	return out->present;
}

static void look(struct salt_view *view, size_t i, const struct record *record,
		 const struct series_rows *humidity)
{
	const struct salt_test *test = &view->request->tests[i];
	const struct series_rows *temperature = record_series(record, view->place, TEMPERATURE);
	double step = record->row_size > JAR_STEP ? record->row_size : JAR_STEP;
	struct jar *jar = &view->jars[i];
	struct bins inside;
	struct room_past room;
	struct jar_past past = { .inside = &inside, .salt = test->salt };

	past.resolution = resolution_of(view->probe, humidity);
	bins_make(humidity, temperature, test->window, step, &inside);
	if (read_room(view, test->window, step, &room))
		past.room = &room.bins;
	jar_look(&past, jar);
	jar->settled = fmax(jar->settled, test->window.from);
	jar->until = fmin(jar->until, test->window.to);
	view->coarse[i] = record->row_size > ROW_MINUTE;
	room_past_clear(&room);
	bins_clear(&inside);
}

/* False after a sentence on standard error. */
static bool look_at_test(struct salt_view *view, size_t i)
{
	const struct request *request = view->request;
	const struct salt_test *test = &request->tests[i];
	struct gathered gathered = { 0 };
	struct record record;
	char *why;

	record_read(request->conf, view->enclosure, test->window, &record);
	gather_note(&gathered, view->enclosure, &record);
	for (size_t s = 0; s < record.count; s++)
		if (record.series[s].series.place == view->place &&
		    record.series[s].series.quantity == HUMIDITY) {
			take_off(&record.series[s], &view->probe->correction[HUMIDITY]);
			look(view, i, &record, &record.series[s]);
		}
	record_clear(&record);
	if (gathered.missing || gathered.unreadable)
		return false;
	if (view->jars[i].verdict == JAR_SETTLED)
		return true;
	why = salt_refusal(&view->jars[i], test->salt, request->conf->units);
	fprintf(stderr, "warmside: probe \"%s\" over %s: %s\n", view->probe->name,
		salt_word(test->salt), why);
	free(why);
	return false;
}

/* False after a sentence on standard error of each test that may be over another salt. */
static bool look_at_names(const struct salt_view *view)
{
	const struct request *request = view->request;
	struct salt_reading readings[SALT_TESTS];
	bool good = true;

	for (size_t i = 0; i < request->test_count; i++)
		readings[i] = (struct salt_reading){
			request->tests[i].salt, view->jars[i].celsius,
			salt_corrected(view->probe, view->jars[i].read)
		};
	for (size_t i = 0; i < request->test_count; i++) {
		enum salt other = salt_mistaken(readings, request->test_count, i);

		if (other == SALTS)
			continue;
		char *why = salt_mistaken_refusal(&readings[i], other,
						  salt_is_corrected(view->probe));

		fprintf(stderr, "warmside: probe \"%s\" over %s: %s\n", view->probe->name,
			salt_word(readings[i].salt), why);
		free(why);
		good = false;
	}
	return good;
}

/* Whether what the configuration corrects by is right within what can be told. */
static bool still_holds(const struct salt_view *view)
{
	bool holds = salt_is_corrected(view->probe);

	for (size_t i = 0; i < view->request->test_count; i++) {
		const struct jar *jar = &view->jars[i];
		double corrected = salt_corrected(view->probe, jar->read);

		holds = holds && fabs(corrected - jar->actual) <= salt_told_uncertainty(jar);
	}
	return holds;
}

/* What has been found out before is not thrown away for less. */
static enum salt_line_trouble make_line(struct salt_view *view, const struct salt_point *points)
{
	const struct correction *before = &view->probe->correction[HUMIDITY];
	size_t count = view->request->test_count;

	view->holds = still_holds(view);
	view->kept_slope = !view->holds && count == 1 && before->slope != 1;
	if (view->kept_slope)
		return salt_line_shift(points, before->slope, &view->line);
	if (!view->holds)
		return salt_line_make(points, count, &view->line);
	view->line = (struct salt_line){ .correction = *before };
	return salt_slope_doubtful(before->slope) ? LINE_DOUBTFUL : LINE_GOOD;
}

/* False after a sentence on standard error. */
static bool draw_line(struct salt_view *view)
{
	const struct request *request = view->request;
	struct salt_point points[SALT_TESTS] = { 0 };
	enum salt_line_trouble trouble;

	for (size_t i = 0; i < request->test_count; i++)
		points[i] = (struct salt_point){ view->jars[i].read, view->jars[i].actual };
	trouble = make_line(view, points);
	view->doubtful = trouble == LINE_DOUBTFUL;
	if (trouble == LINE_CLOSE)
		fprintf(stderr, "warmside: %s and %s lie less than %.0f %% apart, which makes no line; "
			"give one of them alone, or two such as mgcl2 and nacl\n",
			salt_word(request->tests[0].salt), salt_word(request->tests[1].salt),
			salt_least_apart);
	if (trouble == LINE_BROKEN)
		fprintf(stderr, "warmside: probe \"%s\" reads %.1f %% and %.1f %% where the salts have "
			"%.1f %% and %.1f %%; no correction can mend that, so test again or replace "
			"it\n", view->probe->name, points[0].read, points[1].read, points[0].actual,
			points[1].actual);
	return trouble == LINE_GOOD || trouble == LINE_DOUBTFUL;
}

int salt_command(const struct request *request)
{
	struct salt_view view = { .request = request };
	int result = salt_find_probe(request, &view);
	bool good = true;

	if (result != DONE)
		return result;
	for (size_t i = 0; i < request->test_count; i++)
		good = look_at_test(&view, i) && good;
	if (!good || !look_at_names(&view) || !draw_line(&view))
		return FAILED;
	if (request->format == FORMAT_JSON)
		salt_print_json(&view);
	else
		salt_print_text(&view);
	return DONE;
}
