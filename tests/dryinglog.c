/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/dryinglog.h"

static const struct drying FITTED = {
	.at = 1767600000, .before = 44.25, .top = 68.5, .from = 1767602400, .to = 1767660000,
	.verdict = DRYING_FITTED, .time_constant = 4.1875, .floor = 9.5, .drop = 5.125,
	.time_constant_error = 0.1, .floor_error = 0.2, .freedom = 93, .floor_humidity = 43.5,
	.celsius = 24.5, .has_room = true, .room = 7.25, .has_air_changes = true,
	.air_changes = 0.4, .edge = { REACH_SEEN, 9.5 }, .limit = { .reach = REACH_NEVER },
};

static const struct drying SHORT = {
	.at = 1767660000, .before = 50, .top = 60, .from = 1767661200, .to = 1767662400,
	.verdict = DRYING_SHORT, .celsius = 25,
};

static struct drying_record record_of(struct drying list[], size_t count)
{
	struct drying_record record = {
		.enclosure = "T 3", .place = COOL_SIDE, .from = 1767571200.5, .to = 1767700000,
		.known = 120000, .list = list, .count = count,
	};

	return record;
}

/* A line read and written again is the same line; the record read is out->list's owner. */
static void read_back(const struct drying_record *record, struct drying_record *out)
{
	char *line = drying_to_line(record), *again;

	assert_non_null(line);
	assert_true(drying_from_line(line, out));
	again = drying_to_line(out);
	assert_string_equal(line, again);
	free(line);
	free(again);
}

static void both_directions(void **state)
{
	(void)state;
	struct drying list[] = { FITTED, SHORT };
	struct drying_record record = record_of(list, 2), out;

	record.has_law = true;
	record.law = (struct course_law){ 0.25, 0.5, 12.5 };
	record.has_hour[7] = true;
	record.celsius[7] = -3.5;
	read_back(&record, &out);
	assert_string_equal(out.enclosure, "T 3");
	assert_int_equal(out.place, COOL_SIDE);
	assert_true(out.from == record.from && out.to == record.to && out.known == 120000);
	assert_int_equal(out.count, 2);
	assert_true(out.list[0].verdict == DRYING_FITTED && out.list[0].time_constant == 4.1875);
	assert_true(out.list[0].floor == 9.5 && out.list[0].drop == 5.125);
	assert_true(out.list[0].edge.reach == REACH_SEEN && out.list[0].edge.hours == 9.5);
	assert_int_equal(out.list[0].limit.reach, REACH_NEVER);
	assert_true(out.list[0].has_room && out.list[0].room == 7.25);
	assert_true(out.list[0].has_air_changes && out.list[0].air_changes == 0.4);
	assert_int_equal(out.list[1].verdict, DRYING_SHORT);
	assert_false(out.list[1].has_room || out.list[1].has_air_changes);
	assert_true(out.has_law && out.law.capacity == 12.5);
	assert_true(out.has_hour[7] && out.celsius[7] == -3.5 && !out.has_hour[8]);
	free(out.list);
}

static void every_verdict_and_reach(void **state)
{
	(void)state;
	struct drying list[DRYING_VERDICTS];
	struct drying_record record = record_of(list, DRYING_VERDICTS), out;

	for (int i = 0; i < DRYING_VERDICTS; i++) {
		list[i] = i == DRYING_FITTED ? FITTED : SHORT;
		list[i].verdict = (enum drying_verdict)i;
	}
	for (int reach = REACH_UNTOLD; reach <= REACH_NEVER; reach++) {
		list[0].edge = (struct reached){ (enum reach)reach, 3 };
		read_back(&record, &out);
		assert_int_equal(out.list[0].edge.reach, reach);
		for (int i = 0; i < DRYING_VERDICTS; i++)
			assert_int_equal(out.list[i].verdict, i);
		free(out.list);
	}
}

static void what_is_not_there(void **state)
{
	(void)state;
	struct drying list[] = { FITTED };
	struct drying_record record = record_of(list, 0), out;

	read_back(&record, &out);
	assert_int_equal(out.count, 0);
	assert_false(out.has_law);
	free(out.list);
	record = record_of(list, 1);
	record.has_law = true;
	record.law = (struct course_law){ 0.25, 0.5, INFINITY };
	list[0].verdict = DRYING_GAPS;
	list[0].celsius = NAN;
	read_back(&record, &out);
	assert_true(isnan(out.list[0].celsius));
	assert_true(isinf(out.law.capacity));
	assert_int_equal(out.list[0].verdict, DRYING_GAPS);
	free(out.list);
}

static void torn_lines_are_refused(void **state)
{
	(void)state;
	struct drying list[] = { FITTED, SHORT };
	struct drying_record record = record_of(list, 2), out;
	char *line = drying_to_line(&record);

	for (size_t length = strlen(line); length-- > 0;) {
		line[length] = '\0';
		assert_false(drying_from_line(line, &out));
	}
	free(line);
}

/* The first `what` of the line becomes `with`. */
static void refuses(const char *what, const char *with)
{
	struct drying list[] = { FITTED, SHORT };
	struct drying_record record = record_of(list, 2), out;
	char *line, *at, other[4096];

	record.has_law = true;
	record.law = (struct course_law){ 0.25, 0.5, 12.5 };
	record.has_hour[0] = true;
	record.celsius[0] = 24;
	line = drying_to_line(&record);
	at = strstr(line, what);
	assert_non_null(at);
	snprintf(other, sizeof other, "%.*s%s%s", (int)(at - line), line, with, at + strlen(what));
	if (drying_from_line(other, &out))
		fail_msg("taken: %s", other);
	free(line);
}

static void impossible_lines_are_refused(void **state)
{
	(void)state;
	struct drying_record out;
	static const char *const changes[][2] = {
		{ "\"T 3\"", "\"\"" }, { "\"T 3\"", "null" }, { "\"T 3\"", "7" },
		{ "\"T 3\"", "\"a name that is much too long to be that of any enclosure here\"" },
		{ "cool_side", "attic" }, { "\"place\":\"cool_side\",", "" },
		{ "\"to\":1767700000.0", "\"to\":1767571200.5" },
		{ "\"from\":1767571200.5", "\"from\":-1.0" },
		{ "\"from\":1767571200.5", "\"from\":null" },
		{ "\"from\":1767571200.5", "\"from\":\"1767571200\"" },
		{ "\"from\":1767571200.5", "\"from\":NaN" },
		{ "\"from\":1767571200.5", "\"from\":1767571200.5,\"from\":1" },
		{ "\"to\":1767700000.0", "\"to\":1e999" },
		{ "\"known\":120000.0", "\"known\":-1" }, { "\"known\":120000.0", "\"known\":1e9" },
		{ "\"known\":120000.0", "\"known\":null" },
		{ "\"airing\":0.25", "\"airing\":0" }, { "\"exchange\":0.5", "\"exchange\":-1" },
		{ "\"exchange\":0.5", "\"exchange\":null" }, { "\"capacity\":12.5", "\"capacity\":0" },
		{ "\"airing\":0.25", "\"airing\":1e-7" }, { "\"airing\":0.25", "\"airing\":2e4" },
		{ "\"exchange\":0.5", "\"exchange\":1e-7" }, { "\"exchange\":0.5", "\"exchange\":2e4" },
		{ "\"capacity\":12.5", "\"capacity\":1e-4" }, { "\"capacity\":12.5", "\"capacity\":1e10" },
		{ "[24.0,", "[" }, { "[24.0,", "[\"warm\"," }, { "[24.0,", "[100.1," },
		{ "\"at\":1767600000.0", "\"at\":1767500000" },
		{ "\"at\":1767600000.0", "\"at\":1767700000" },
		{ "\"at\":1767600000.0", "\"at\":1767665000" },
		{ "\"before\":44.25", "\"before\":1000" }, { "\"top\":68.5", "\"top\":null" },
		{ "\"from\":1767602400.0", "\"from\":1767670000" },
		{ "fitted", "fine" }, { "short", "fitted" }, { "fitted", "short" },
		{ "\"celsius\":24.5", "\"celsius\":-300" }, { "\"celsius\":24.5", "\"celsius\":null" },
		{ "\"room\":7.25", "\"room\":\"dry\"" },
		{ "\"time_constant\":4.1875", "\"time_constant\":0" },
		{ "\"time_constant\":4.1875", "\"time_constant\":-4" },
		{ "\"time_constant\":4.1875", "\"time_constant\":1e-4" },
		{ "\"time_constant\":4.1875", "\"time_constant\":2e4" },
		{ "\"time_constant_error\":0.1", "\"time_constant_error\":-0.1" },
		{ "\"floor\":9.5", "\"floor\":1e6" }, { "\"freedom\":93.0", "\"freedom\":0.9" },
		{ "\"floor_humidity\":43.5", "\"floor_humidity\":null" },
		{ "\"air_changes\":0.4", "\"air_changes\":-0.4" },
		{ "seen", "gone" }, { "\"hours\":9.5", "\"hours\":-1" },
		{ "\"hours\":9.5", "\"hours\":null" }, { "seen", "never" },
		{ "\"dryings\":[", "\"dryings\":[7," }, { "\"dryings\":", "\"wettings\":" },
		{ "}]}", "}]}}" }, { "}]}", "}]}\n{" },
	};
	static const char *const foreign[] = { "", "{", "[]", "{}", "null", "7", "\"T3\"", "\xff" };

	for (size_t i = 0; i < sizeof changes / sizeof *changes; i++)
		refuses(changes[i][0], changes[i][1]);
	for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++)
		assert_false(drying_from_line(foreign[i], &out));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(both_directions),
		cmocka_unit_test(every_verdict_and_reach),
		cmocka_unit_test(what_is_not_there),
		cmocka_unit_test(torn_lines_are_refused),
		cmocka_unit_test(impossible_lines_are_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
