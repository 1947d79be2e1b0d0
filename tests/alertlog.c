/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "conf/alertlog.h"

static void both_directions(void **state)
{
	(void)state;
	const struct alert_record r = {
		.time = 1767606000, .id = "alert-1", .message = "msg-1", .event = RAISED,
		.enclosure = "T3", .has_place = true, .place = COOL_SIDE,
		.has_quantity = true, .quantity = HUMIDITY,
		.has_condition = true, .condition = BELOW_BAND,
		.has_priority = true, .priority = TODAY,
		.has_value = true, .value = 38.2, .has_since = true, .since = 1767602400,
	};
	char *line = alert_to_line(&r);
	struct alert_record back;

	assert_non_null(strstr(line, "\"time\":1767606000,"));
	assert_non_null(strstr(line, "\"condition\":\"below_band\""));
	assert_non_null(strstr(line, "\"worst\":null"));
	assert_true(alert_from_line(line, &back));
	assert_memory_equal(&back, &r, sizeof r);
	free(line);
}

static void torn_and_foreign_lines_are_refused(void **state)
{
	(void)state;
	struct alert_record out;
	const char *bad[] = {
		"", "{", "[]", "{}", "{\"time\":1,\"event\":\"exploded\"}",
		"{\"time\":\"x\",\"event\":\"raised\"}",
		"{\"time\":1,\"event\":\"raised\",\"place\":\"attic\"}",
		"{\"time\":1,\"event\":\"raised\",\"value\":\"wet\"}",
		"{\"time\":1767606000,\"id\":\"a\",\"event\":\"rais",
	};

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(alert_from_line(bad[i], &out));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(both_directions),
		cmocka_unit_test(torn_and_foreign_lines_are_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
