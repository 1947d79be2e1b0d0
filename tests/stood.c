/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What stood at an instant, by the alert log.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "report/standing.h"

/* time, id, event, and the rest of each record. */
static const char LOG[] =
	"{\"time\":100,\"id\":\"dry\",\"event\":\"raised\",\"enclosure\":\"T3\",\"place\":"
	"\"cool_side\",\"quantity\":\"humidity\",\"condition\":\"below_band\","
	"\"priority\":\"today\"}\n"
	"{\"time\":150,\"id\":\"dry\",\"event\":\"acknowledged\",\"enclosure\":\"T3\"}\n"
	"{\"time\":200,\"id\":\"due\",\"event\":\"raised\",\"enclosure\":\"T1\","
	"\"condition\":\"misting_due\",\"priority\":\"today\"}\n"
	"{\"time\":300,\"id\":\"ice\",\"event\":\"raised\",\"enclosure\":\"T2\",\"place\":"
	"\"cool_side\",\"condition\":\"frozen\",\"priority\":\"upkeep\"}\n"
	"{\"time\":400,\"id\":\"dry\",\"event\":\"worsened\",\"enclosure\":\"T3\",\"place\":"
	"\"cool_side\",\"quantity\":\"humidity\",\"condition\":\"below_limits\","
	"\"priority\":\"today\"}\n"
	"{\"time\":500,\"id\":\"hot\",\"event\":\"raised\",\"enclosure\":\"P1\",\"place\":"
	"\"warm_side\",\"quantity\":\"temperature\",\"condition\":\"above_limits\","
	"\"priority\":\"now\"}\n"
	"{\"time\":600,\"id\":\"dry\",\"event\":\"cleared\",\"enclosure\":\"T3\"}\n";

static char folder[] = "/tmp/warmside-stood.XXXXXX";
static char path[sizeof folder + sizeof "/alerts.jsonl"];

static int write_log(void **state)
{
	FILE *file;

	(void)state;
	if (!mkdtemp(folder))
		return -1;
	snprintf(path, sizeof path, "%s/alerts.jsonl", folder);
	file = fopen(path, "we");
	return file && fputs(LOG, file) >= 0 && fclose(file) == 0 ? 0 : -1;
}

static int remove_log(void **state)
{
	(void)state;
	return unlink(path) || rmdir(folder) ? -1 : 0;
}

/* What stood then, by the ids. */
static void stood(double instant, const char *ids[], size_t count)
{
	struct standing standing;

	standing_load(folder, instant, &standing);
	assert_true(standing.known);
	assert_int_equal(standing.alerts.count, count);
	for (size_t i = 0; i < count; i++)
		assert_string_equal(standing.alerts.list[i].id, ids[i]);
	standing_clear(&standing);
}

static void the_gravest_comes_first_and_a_reminder_is_none(void **state)
{
	(void)state;
	stood(99, NULL, 0);
	stood(100, (const char *[]){ "dry" }, 1);
	stood(250, (const char *[]){ "dry" }, 1);
	stood(300, (const char *[]){ "dry", "ice" }, 2);
	stood(550, (const char *[]){ "hot", "dry", "ice" }, 3);
	stood(600, (const char *[]){ "hot", "ice" }, 2);
}

static void it_is_as_the_log_told_then(void **state)
{
	(void)state;
	struct standing standing;

	standing_load(folder, 399, &standing);
	assert_int_equal(standing.alerts.list[0].condition, BELOW_BAND);
	standing_clear(&standing);
	standing_load(folder, 400, &standing);
	assert_int_equal(standing.alerts.list[0].condition, BELOW_LIMITS);
	standing_clear(&standing);
}

static void a_probe_is_told_frozen_at_its_place(void **state)
{
	(void)state;
	struct standing standing;

	standing_load(folder, 700, &standing);
	assert_non_null(standing_of_probe(&standing, "T2", COOL_SIDE));
	assert_null(standing_of_probe(&standing, "T2", WARM_SIDE));
	assert_null(standing_of_probe(&standing, "P1", WARM_SIDE));
	standing_clear(&standing);
	standing_load(folder, 299, &standing);
	assert_null(standing_of_probe(&standing, "T2", COOL_SIDE));
	standing_clear(&standing);
}

static void without_a_log_nothing_stands(void **state)
{
	(void)state;
	struct standing standing;

	standing_load("/nonexistent", 700, &standing);
	assert_true(standing.known);
	assert_int_equal(standing.alerts.count, 0);
	standing_clear(&standing);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_gravest_comes_first_and_a_reminder_is_none),
		cmocka_unit_test(it_is_as_the_log_told_then),
		cmocka_unit_test(a_probe_is_told_frozen_at_its_place),
		cmocka_unit_test(without_a_log_nothing_stands),
	};

	return cmocka_run_group_tests(tests, write_log, remove_log);
}
