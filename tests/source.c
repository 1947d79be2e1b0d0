/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a source says of each key.
 */
#include "tests/cm.h"

#include <stdlib.h>

#include "conf/source.h"

/* NULL: nothing is said. */
static void says(const char *source, enum source_key key, const char *expected)
{
	char *found = source_part(source, key);

	if (expected)
		assert_string_equal(found ? found : "(nothing)", expected);
	else
		assert_null(found);
	free(found);
}

static void one_text_is_of_every_key(void **state)
{
	(void)state;
	for (int key = 0; key < SOURCE_KEYS; key++) {
		says("memory", (enum source_key)key, "memory");
		says(NULL, (enum source_key)key, NULL);
		says(" ; ", (enum source_key)key, NULL);
	}
}

static void each_key_its_own(void **state)
{
	static const char source[] =
		"day: A book, 2001, A; night: memory; limits: upper from B, undated, C, lower memory";

	(void)state;
	says(source, SOURCE_DAY, "A book, 2001, A");
	says(source, SOURCE_NIGHT, "memory");
	says(source, SOURCE_LIMITS, "upper from B, undated, C, lower memory");
	says(source, SOURCE_PATIENCE, NULL);
}

static void keys_together(void **state)
{
	(void)state;
	says("day , night: memory;limits:a", SOURCE_DAY, "memory");
	says("day , night: memory;limits:a", SOURCE_NIGHT, "memory");
	says("day , night: memory;limits:a", SOURCE_LIMITS, "a");
	says("day, night: memory; patience: b", SOURCE_PATIENCE, "b");
}

/* "limits" begins "limits_patience", and "day" is not the beginning of "daily". */
static void keys_that_begin_alike(void **state)
{
	static const char source[] = "day: a; limits: b; daily, limits_patience: c";

	(void)state;
	says(source, SOURCE_DAY, "a");
	says(source, SOURCE_LIMITS, "b");
	says(source, SOURCE_DAILY, "c");
	says(source, SOURCE_LIMITS_PATIENCE, "c");
	says("limits_patience, limits: d", SOURCE_LIMITS, "d");
}

static void the_night_is_the_day_where_nothing_is_said(void **state)
{
	(void)state;
	says("day: memory; limits: a", SOURCE_NIGHT, "memory");
	says("limits: a", SOURCE_NIGHT, NULL);
	says("limits: a", SOURCE_DAY, NULL);
}

static void titles_with_colons_and_semicolons(void **state)
{
	(void)state;
	says("Snakes: a guide, 2001, A", SOURCE_DAY, "Snakes: a guide, 2001, A");
	says("day: Snakes: a guide, 2001, A", SOURCE_DAY, "Snakes: a guide, 2001, A");
	says("daylight: its uses, 2001, A", SOURCE_LIMITS, "daylight: its uses, 2001, A");
	says("day and night: a song, 2001, A", SOURCE_LIMITS, "day and night: a song, 2001, A");
	says("day: Snakes; a guide, 2001, A; limits: b", SOURCE_DAY, "Snakes; a guide, 2001, A");
	says("memory; limits: b", SOURCE_LIMITS, "memory; b");
	says("memory; limits: b", SOURCE_DAY, "memory");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(one_text_is_of_every_key),
		cmocka_unit_test(each_key_its_own),
		cmocka_unit_test(keys_together),
		cmocka_unit_test(keys_that_begin_alike),
		cmocka_unit_test(the_night_is_the_day_where_nothing_is_said),
		cmocka_unit_test(titles_with_colons_and_semicolons),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
