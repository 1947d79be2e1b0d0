/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A watch that is cut off at any moment and goes on: its minutes are those of
 * one that never was, but for nothing.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/samples.h"
#include "tests/small_conf.h"

enum { ENCLOSURES = 2, MINUTES = 60, EVERY = 10, SERIES = 3 };

static const double begin = 1767571200; /* 2026-01-05 00:00 UTC */

struct rig {
	struct conf *conf;
	struct flow *flow;
	struct samples samples;
	char *folder, *path;
	/* As the archive does it: the first one of an end stands. */
	bool there[ENCLOSURES][MINUTES];
	struct minute_cell cells[ENCLOSURES][MINUTES][SERIES];
};

static void take_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	struct rig *rig = context;
	size_t at = (size_t)((double)minute->end - begin) / ARCHIVE_STEP - 1;

	assert_true(at < MINUTES && minute->count == SERIES);
	if (!rig->there[enclosure][at])
		memcpy(rig->cells[enclosure][at], minute->cells, sizeof rig->cells[enclosure][at]);
	rig->there[enclosure][at] = true;
}

static void take_event(void *context, struct alert_record *record,
		       const struct message_context *message)
{
	(void)context;
	(void)record;
	(void)message;
}

static void take_sample(void *context, size_t enclosure, struct series series,
			struct sample sample)
{
	struct rig *rig = context;

	samples_note(&rig->samples, rig->conf, rig->conf->enclosures[enclosure].name, series,
		     sample);
}

static void start(struct rig *rig, double now)
{
	const struct flow_sink sink = { rig, take_minute, take_event, take_sample };

	rig->flow = flow_new(rig->conf, &sink, now);
	if (!rig->path)
		return;
	samples_open(&rig->samples, rig->path, rig->flow);
}

static void open_rig(struct rig *rig, bool kept)
{
	char template[] = "/tmp/samples-XXXXXX";

	*rig = (struct rig){ .conf = small_conf(NULL, ENCLOSURES, EVERY) };
	assert_non_null(mkdtemp(template));
	rig->folder = must_copy(template);
	if (kept)
		rig->path = must_print("%s/samples", rig->folder);
	start(rig, begin);
}

/* What a kill leaves: files as they were last written, memory gone. */
static void cut_off(struct rig *rig, double now)
{
	samples_close(&rig->samples);
	flow_free(rig->flow);
	start(rig, now);
}

static void close_rig(struct rig *rig)
{
	char *command = must_print("rm -r '%s'", rig->folder);

	flow_finish(rig->flow);
	samples_close(&rig->samples);
	flow_free(rig->flow);
	assert_int_equal(system(command), 0);
	free(command);
	free(rig->folder);
	free(rig->path);
	small_conf_free(rig->conf);
}

/* The flow is cut off after reading number `first`, and again every `apart`, `count` times. */
struct cuts {
	int first, count, apart;
};

static const struct cuts never = { 0 };

static bool is_cut(struct cuts cuts, int reading)
{
	for (int i = 0; i < cuts.count; i++)
		if (reading == cuts.first + i * cuts.apart)
			return true;
	return false;
}

/* Every probe at a moment of its own within each `EVERY`, with values that
 * cross the bands. */
static void run(struct rig *rig, struct cuts cuts)
{
	int count = 0;

	for (int i = 0; i < (MINUTES - 1) * 60 / EVERY; i++)
		for (size_t p = 0; p < rig->conf->probe_count; p++) {
			double time = begin + i * EVERY + 1.7 * (double)p;
			struct reading reading = { .probe = p, .time = time, .has = { true, p % 2 } };

			reading.value[TEMPERATURE] = 26 + 4 * sin(i * 0.05 + (double)p);
			reading.value[HUMIDITY] = 50 + 15 * sin(i * 0.03);
			flow_tick(rig->flow, time);
			flow_reading(rig->flow, &reading);
			samples_write(&rig->samples);
			if (is_cut(cuts, ++count))
				cut_off(rig, time + 0.5);
		}
}

static void compare(const struct rig *a, const struct rig *b)
{
	for (size_t e = 0; e < ENCLOSURES; e++)
		for (size_t m = 0; m < MINUTES; m++) {
			assert_int_equal(a->there[e][m], b->there[e][m]);
			for (size_t s = 0; a->there[e][m] && s < SERIES; s++) {
				const struct minute_cell *x = &a->cells[e][m][s];
				const struct minute_cell *y = &b->cells[e][m][s];

				assert_near(x->ok, y->ok, 1e-9);
				assert_near(x->low, y->low, 1e-9);
				assert_near(x->high, y->high, 1e-9);
				assert_near(x->out, y->out, 1e-9);
				assert_near(x->value, y->value, 1e-9);
			}
		}
}

/* Cut off after each reading of a stretch over several full minutes and turns
 * of the files, and once or twice more soon after. */
static void a_sudden_end_changes_no_minute(void **state)
{
	struct rig whole, cut;
	int per_minute = 60 / EVERY * 2 * ENCLOSURES;

	(void)state;
	open_rig(&whole, false);
	run(&whole, never);
	close_rig(&whole);
	for (int at = 3 * per_minute; at < 9 * per_minute; at += 5)
		for (int count = 1; count <= 3; count++) {
			open_rig(&cut, true);
			run(&cut, (struct cuts){ at, count, 2 });
			close_rig(&cut);
			compare(&whole, &cut);
		}
}

/* Without the files something is missing: the test above can fail. */
static void without_the_files_time_is_unknown(void **state)
{
	struct rig cut;
	double ok = 0;

	(void)state;
	open_rig(&cut, false);
	run(&cut, (struct cuts){ 100, 1, 0 });
	close_rig(&cut);
	for (size_t m = 0; m < MINUTES - 1; m++)
		ok += cut.cells[0][m][0].ok;
	assert_true(ok < MINUTES - 1.3);
}

static void what_is_not_whole_is_passed_over(void **state)
{
	struct rig rig;
	FILE *file;

	(void)state;
	open_rig(&rig, true);
	run(&rig, never);
	samples_close(&rig.samples);
	file = fopen(rig.path, "r+");
	assert_non_null(file);
	assert_int_equal(fseek(file, 100, SEEK_SET), 0);
	assert_int_equal(fputc('x', file), 'x');
	assert_int_equal(fclose(file), 0);
	flow_free(rig.flow);
	start(&rig, begin + MINUTES * 60);
	close_rig(&rig);
}

/* While the folder is away nothing is written; then a file of its own begins. */
static void what_is_held_is_not_written(void **state)
{
	struct rig rig;
	struct stat about;

	(void)state;
	open_rig(&rig, true);
	samples_hold(&rig.samples);
	run(&rig, never);
	assert_int_equal(access(rig.path, F_OK), -1);
	samples_anew(&rig.samples);
	take_sample(&rig, 0, (struct series){ WARM_SIDE, TEMPERATURE, false },
		    (struct sample){ begin + MINUTES * 60, 25 });
	samples_write(&rig.samples);
	assert_int_equal(stat(rig.path, &about), 0);
	close_rig(&rig);
}

static void an_orderly_end_leaves_nothing(void **state)
{
	struct rig rig;

	(void)state;
	open_rig(&rig, true);
	run(&rig, never);
	samples_forget(&rig.samples);
	assert_int_equal(access(rig.path, F_OK), -1);
	assert_int_equal(rmdir(rig.folder), 0); /* the older one is gone too */
	assert_int_equal(mkdir(rig.folder, 0700), 0);
	close_rig(&rig);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_sudden_end_changes_no_minute),
		cmocka_unit_test(without_the_files_time_is_unknown),
		cmocka_unit_test(what_is_not_whole_is_passed_over),
		cmocka_unit_test(what_is_held_is_not_written),
		cmocka_unit_test(an_orderly_end_leaves_nothing),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
