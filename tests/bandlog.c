/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "conf/bandlog.h"

/* A line read and written again is the same line. */
static void assert_same(const char *line)
{
	struct band_record record;
	char *again;

	assert_true(band_from_line(line, &record));
	again = band_to_line(&record);
	assert_string_equal(line, again);
	free(again);
}

static void both_directions(void **state)
{
	(void)state;
	const struct band_record r = {
		.time = 1767600000, .enclosure = "T3", .series = { COOL_SIDE, HUMIDITY, false },
		.has_band = true, .day = { 45, 60 }, .night = { 45.5, 65 },
		.has_limits = true, .limits = { 25, 85 }, .clock = { 28800, 72000, 5400 },
	};
	const struct band_record bare = {
		.time = 1.5, .enclosure = "T 1", .series = { EGGS, TEMPERATURE, false },
	};
	char *line = band_to_line(&r);

	assert_string_equal(line, "{\"time\":1767600000.0,\"enclosure\":\"T3\",\"place\":\"cool_side\","
			    "\"quantity\":\"humidity\",\"day\":[45.0,60.0],\"night\":[45.5,65.0],"
			    "\"limits\":[25.0,85.0],\"day_from\":28800,\"day_to\":72000,"
			    "\"changeover\":5400.0}");
	assert_same(line);
	free(line);
	line = band_to_line(&bare);
	assert_non_null(strstr(line, "\"day\":null,\"night\":null,\"limits\":null"));
	assert_same(line);
	free(line);
}

static void torn_and_foreign_lines_are_refused(void **state)
{
	(void)state;
	struct band_record out;
	const char *const bad[] = {
		"", "{", "[]", "{}", "{\"time\":1767600000,\"enclosure\":\"T3\",\"pl",
		/* a day without a night, an attic, a day that begins at 25:00, a named day */
		"{\"time\":1,\"enclosure\":\"T3\",\"place\":\"eggs\",\"quantity\":\"humidity\","
		"\"day\":[1,2],\"night\":null,\"limits\":null,\"day_from\":0,\"day_to\":0,"
		"\"changeover\":0}",
		"{\"time\":1,\"enclosure\":\"T3\",\"place\":\"attic\",\"quantity\":\"humidity\","
		"\"day\":null,\"night\":null,\"limits\":null,\"day_from\":0,\"day_to\":0,"
		"\"changeover\":0}",
		"{\"time\":1,\"enclosure\":\"T3\",\"place\":\"eggs\",\"quantity\":\"humidity\","
		"\"day\":null,\"night\":null,\"limits\":null,\"day_from\":90000,\"day_to\":0,"
		"\"changeover\":0}",
		"{\"time\":1,\"enclosure\":\"T3\",\"place\":\"eggs\",\"quantity\":\"humidity\","
		"\"day\":\"warm\",\"night\":null,\"limits\":null,\"day_from\":0,\"day_to\":0,"
		"\"changeover\":0}",
		/* a band upside down, a time no clock shows */
		"{\"time\":1,\"enclosure\":\"T3\",\"place\":\"eggs\",\"quantity\":\"humidity\","
		"\"day\":[2,1],\"night\":[1,2],\"limits\":null,\"day_from\":0,\"day_to\":0,"
		"\"changeover\":0}",
		"{\"time\":1e18,\"enclosure\":\"T3\",\"place\":\"eggs\",\"quantity\":\"humidity\","
		"\"day\":null,\"night\":null,\"limits\":null,\"day_from\":0,\"day_to\":0,"
		"\"changeover\":0}",
	};

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
		assert_false(band_from_line(bad[i], &out));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(both_directions),
		cmocka_unit_test(torn_and_foreign_lines_are_refused),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
