/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <stdio.h>

#include "report/alerts.h"
#include "report/latest.h"

static const char LOG[] =
	"{\"time\":100,\"id\":\"a\",\"event\":\"raised\",\"enclosure\":\"T3\",\"place\":\"cool_side\","
	"\"quantity\":\"humidity\",\"condition\":\"below_band\",\"priority\":\"today\",\"value\":40}\n"
	"{\"time\":110,\"id\":\"b\",\"event\":\"raised\",\"enclosure\":\"T2\",\"place\":\"hot_spot\","
	"\"quantity\":\"temperature\",\"condition\":\"silent\",\"priority\":\"upkeep\"}\n"
	"{\"time\":120,\"id\":\"c\",\"event\":\"raised\",\"enclosure\":\"T1\",\"place\":\"warm_side\","
	"\"quantity\":\"temperature\",\"condition\":\"runaway\",\"priority\":\"now\",\"value\":34}\n"
	"{\"time\":130,\"id\":\"a\",\"event\":\"worsened\",\"enclosure\":\"T3\",\"place\":\"cool_side\","
	"\"quantity\":\"humidity\",\"condition\":\"below_limits\",\"priority\":\"today\",\"value\":24}\n"
	"{\"time\":140,\"id\":\"b\",\"event\":\"acknowledged\",\"enclosure\":\"T2\"}\n"
	"{\"time\":150,\"id\":\"c\",\"event\":\"cleared\",\"enclosure\":\"T1\"}\n"
	"{\"time\":160,\"id\":\"d\",\"ev\n"
	"{\"time\":170,\"id\":\"t\",\"event\":\"test\"}\n"
	"{\"time\":180,\"id\":\"e\",\"event\":\"raised\",\"encl";

static void what_stands_and_what_happened(void **state)
{
	(void)state;
	FILE *file = fmemopen((void *)LOG, strlen(LOG), "r");
	struct alerts alerts;

	alerts_read(file, (struct window){ 120, 150 }, &alerts);
	fclose(file);
	assert_int_equal(alerts.torn, 2);
	assert_int_equal(alerts.standing.count, 2);
	assert_string_equal(alerts.standing.list[0].last.id, "a"); /* today before upkeep */
	assert_int_equal(alerts.standing.list[0].last.event, WORSENED);
	assert_near(alerts.standing.list[0].last.value, 24, 0);
	assert_string_equal(alerts.standing.list[1].last.id, "b"); /* acknowledged stands */
	assert_int_equal(alerts.history.count, 3); /* 150 is outside */
	assert_near(alerts.history.list[0].time, 120, 0);

	char *phrase = alert_phrase(&alerts.standing.list[0].last);

	assert_string_equal(phrase, "cool side humidity below its limits");
	free(phrase);
	phrase = alert_phrase(&(struct alert_record){ .has_condition = true, .condition = CLOCK });
	assert_string_equal(phrase, "clock not believed");
	free(phrase);
	alerts_clear(&alerts);
}

/* What an alert of the long log below came to, remembered without regard to any window. */
struct course {
	char id[16];
	double raised, end;     /* end: INFINITY while it stands */
};

enum { LONG_LOG = 4000, IDS = 60 };

/* Alerts begin and end by turns, one a second; an id may come again. */
static size_t write_long_log(FILE *log, struct course courses[LONG_LOG])
{
	size_t last[IDS], count = 0;
	unsigned seed = 11;

	memset(last, 0xff, sizeof last);
	for (int time = 0; time < LONG_LOG; time++) {
		size_t which = (size_t)rand_r(&seed) % IDS;
		bool stands = last[which] != SIZE_MAX && isinf(courses[last[which]].end);

		if (stands) {
			courses[last[which]].end = time;
		} else {
			last[which] = count;
			courses[count] = (struct course){ .raised = time, .end = INFINITY };
			snprintf(courses[count++].id, sizeof courses->id, "a%zu", which);
		}
		fprintf(log, "{\"time\":%d,\"id\":\"a%zu\",\"message\":\"m%d\",\"event\":\"%s\"}\n"
			"{\"time\":%d,\"id\":\"\",\"message\":\"m%d\",\"event\":\"delivered\","
			"\"webhook\":\"phone\"}\n", time, which, time,
			stands ? "cleared" : "raised", time, time);
	}
	return count;
}

static void only_the_window_and_what_stands_is_kept(void **state)
{
	static const struct window windows[] = { { 3900, 4000 }, { 2000, 2100 }, { 0, 4000 },
						 { 5000, 6000 }, { 10.5, 11 } };
	static struct course courses[LONG_LOG];
	char *text;
	size_t size;
	FILE *log = open_memstream(&text, &size);
	size_t count = write_long_log(log, courses);

	(void)state;
	fclose(log);
	for (size_t w = 0; w < sizeof windows / sizeof *windows; w++) {
		struct window window = windows[w];
		FILE *file = fmemopen(text, size, "r");
		struct alerts alerts;
		size_t stand = 0, in_window = 0;

		alerts_read(file, window, &alerts);
		fclose(file);
		for (size_t i = 0; i < count; i++) {
			stand += courses[i].end == INFINITY;
			if (courses[i].end <= window.from || courses[i].raised >= window.to)
				continue;
			assert_true(in_window < alerts.lives.count);

			const struct alert_life *life = &alerts.lives.list[in_window++];

			assert_string_equal(life->last.id, courses[i].id);
			assert_near(life->raised, courses[i].raised, 0);
			assert_int_equal(life->over, isfinite(courses[i].end));
			assert_true(!life->over || life->end == courses[i].end);
		}
		assert_int_equal(alerts.lives.count, in_window);
		assert_int_equal(alerts.standing.count, stand);
		assert_int_equal(alerts.delivery_count,
				 fmax(LONG_LOG - ceil(window.from), 0));
		assert_int_equal(alerts.torn, 0);
		alerts_clear(&alerts);
	}
	free(text);
}

static void no_log_is_an_empty_one(void **state)
{
	(void)state;
	char folder[] = "/tmp/warmside-alerts-XXXXXX";
	struct alerts alerts;

	assert_non_null(mkdtemp(folder));
	assert_true(alerts_load(folder, (struct window){ 0, 1 }, &alerts));
	assert_int_equal(alerts.standing.count + alerts.history.count + alerts.torn, 0);
	alerts_clear(&alerts);
	assert_int_equal(remove(folder), 0);
}

/* ---- now.json ------------------------------------------------------------- */

static const char WRITTEN[] =
	"{\"time\":1767600000.5,\"probes\":{\"x\":1},\"enclosures\":[{\"name\":\"T3\",\"more\":1,"
	"\"state\":\"straying\",\"places\":["
	"{\"place\":\"cool_side\",\"quantity\":\"humidity\",\"value\":38.25,\"time\":1767599998,"
	"\"state\":\"straying\",\"band\":[45,60],\"limits\":[25,85],\"unit\":\"%\"},"
	"{\"place\":\"warm_side\",\"quantity\":\"temperature\",\"value\":null,\"time\":null,"
	"\"state\":\"silent\",\"band\":null,\"limits\":null}]}]}";

static void now_comes_out_as_it_went_in(void **state)
{
	(void)state;
	json_t *in = json_loads(WRITTEN, 0, NULL), *out;
	struct latest latest;
	char *text;

	assert_true(latest_from_json(in, &latest));
	out = latest_to_json(&latest);
	text = json_dumps(out, JSON_COMPACT | JSON_REAL_PRECISION(15));
	assert_string_equal(
		text,
		"{\"time\":1767600000.5,\"enclosures\":[{\"name\":\"T3\",\"state\":\"straying\","
		"\"places\":[{\"place\":\"cool_side\",\"quantity\":\"humidity\",\"value\":38.25,"
		"\"time\":1767599998,\"state\":\"straying\",\"band\":[45.0,60.0],"
		"\"limits\":[25.0,85.0]},{\"place\":\"warm_side\",\"quantity\":\"temperature\","
		"\"value\":null,\"time\":null,\"state\":\"silent\",\"band\":null,"
		"\"limits\":null}]}]}");
	free(text);
	json_decref(in);
	json_decref(out);
	latest_clear(&latest);
}

static void what_the_daemon_does_not_write_is_refused(void **state)
{
	(void)state;
	const char *const wrong[] = {
		"{}", "[]", "{\"time\":1}", "{\"time\":null,\"enclosures\":[]}",
		"{\"time\":1,\"enclosures\":[{}]}",
		"{\"time\":1,\"enclosures\":[{\"name\":\"a\",\"state\":\"in band\"}]}",
		"{\"time\":1,\"enclosures\":[{\"name\":\"a\",\"state\":\"in band\",\"places\":["
		"{\"place\":\"attic\",\"quantity\":\"humidity\",\"value\":null,\"time\":null,"
		"\"state\":\"silent\",\"band\":null,\"limits\":null}]}]}",
		"{\"time\":1,\"enclosures\":[{\"name\":\"a\",\"state\":\"in band\",\"places\":["
		"{\"place\":\"eggs\",\"quantity\":\"humidity\",\"value\":\"wet\",\"time\":null,"
		"\"state\":\"silent\",\"band\":null,\"limits\":null}]}]}",
		"{\"time\":1e18,\"enclosures\":[]}",
		"{\"time\":1,\"enclosures\":[{\"name\":\"a\",\"state\":\"in band\",\"places\":["
		"{\"place\":\"eggs\",\"quantity\":\"humidity\",\"value\":1,\"time\":-1,"
		"\"state\":\"in band\",\"band\":null,\"limits\":null}]}]}",
		"{\"time\":1,\"enclosures\":[{\"name\":\"a\",\"state\":\"in band\",\"places\":["
		"{\"place\":\"eggs\",\"quantity\":\"humidity\",\"value\":1,\"time\":1,"
		"\"state\":\"in band\",\"band\":[60,45],\"limits\":null}]}]}",
	};

	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		json_t *root = json_loads(wrong[i], 0, NULL);
		struct latest latest;

		assert_non_null(root);
		assert_false(latest_from_json(root, &latest));
		json_decref(root);
	}
}

static void the_worst_comes_first(void **state)
{
	(void)state;
	const struct latest_place order[] = {
		{ .state = "unsafe" },
		{ .state = "straying", .has_value = true, .value = 30, .has_band = true,
		  .band = { 45, 60 } },
		{ .state = "straying", .has_value = true, .value = 44, .has_band = true,
		  .band = { 45, 60 } },
		{ .state = "silent" }, { .state = "frozen" }, { .state = "in band" },
	};

	for (size_t i = 0; i + 1 < sizeof order / sizeof *order; i++) {
		assert_true(latest_compare(&order[i], &order[i + 1]) < 0);
		assert_true(latest_compare(&order[i + 1], &order[i]) > 0);
		assert_int_equal(latest_compare(&order[i], &order[i]), 0);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(what_stands_and_what_happened),
		cmocka_unit_test(only_the_window_and_what_stands_is_kept),
		cmocka_unit_test(no_log_is_an_empty_one),
		cmocka_unit_test(now_comes_out_as_it_went_in),
		cmocka_unit_test(what_the_daemon_does_not_write_is_refused),
		cmocka_unit_test(the_worst_comes_first),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
