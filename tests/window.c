/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include <time.h>

#include "report/window.h"

/* 2026-01-05T08:00:00Z; epoch checked with date(1): 1767600000. */
static const double MONDAY = 1767600000;

static struct window good(const char *from, const char *to)
{
	struct window window = { 0 };
	char *trouble = window_parse(from, to, MONDAY + 59.5, &window);

	if (trouble)
		fail_msg("%s", trouble);
	return window;
}

static void the_default_is_the_last_24_hours(void **state)
{
	(void)state;
	struct window window = good(NULL, NULL);

	assert_near(window.to, MONDAY, 0); /* the last full minute */
	assert_near(window.from, MONDAY - 86400, 0);
	window = good(NULL, "1767000000.25");
	assert_near(window.from, 1767000000.25 - 86400, 0);
	window = good("1767513600", NULL);
	assert_near(window.from, 1767513600, 0);
	assert_near(window.to, MONDAY, 0);
}

static void iso_and_epoch(void **state)
{
	(void)state;
	struct window window = good("2026-01-05T08:00:00Z", "2026-01-05T10:00:00+01:00");

	assert_near(window.from, MONDAY, 0);
	assert_near(window.to, MONDAY + 3600, 0);
	/* The zone of these tests is Europe/Berlin, one hour ahead in January. */
	window = good("2026-01-05 08:00", "2026-01-06");
	assert_near(window.from, MONDAY - 3600, 0);
	assert_near(window.to, MONDAY + 15 * 3600, 0);
}

static void at_style(void **state)
{
	(void)state;
	struct window window = good("end-6h", "2026-01-05T08:00:00Z");

	assert_near(window.to, MONDAY, 0);
	assert_near(window.from, MONDAY - 6 * 3600, 0);
	window = good("2026-01-05T08:00:00Z", "start+90min");
	assert_near(window.to, MONDAY + 5400, 0);
	window = good("20260105", "2026-01-05T08:00:00Z"); /* a date, local midnight */
	assert_near(window.from, MONDAY - 9 * 3600, 0);

	double before = (double)time(NULL);

	window = good("-2d", "now");
	assert_in_range((unsigned long)window.to, (unsigned long)before,
			(unsigned long)time(NULL));
	assert_near(window.to - window.from, 2 * 86400, 1 + 3600); /* a clock change lies in it */
}

static void nonsense_gets_a_sentence(void **state)
{
	(void)state;
	const char *const wrong[][2] = {
		{ "yesterdaay", NULL }, { NULL, "25:99 monday" }, { "start-1d", NULL },
		{ "2026-01-05T08:00:00Z", "2026-01-05T08:00:00Z" },
		{ "2026-01-06", "2026-01-05" }, { "nan", NULL },
	};

	for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
		struct window window;
		char *trouble = window_parse(wrong[i][0], wrong[i][1], MONDAY, &window);

		assert_non_null(trouble);
		assert_true(strlen(trouble) > 20);
		free(trouble);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_default_is_the_last_24_hours),
		cmocka_unit_test(iso_and_epoch),
		cmocka_unit_test(at_style),
		cmocka_unit_test(nonsense_gets_a_sentence),
	};

	setenv("TZ", "Europe/Berlin", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
