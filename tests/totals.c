/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "report/totals.h"

static struct row row(double from, double to, double ok, double low, double high, double value)
{
	return (struct row){ .from = from, .to = to, .ok = ok, .low = low, .high = high,
			     .out = 2 * (low + high), .has_value = ok > 0, .value = value,
			     .min = value - 1, .max = value + 1 };
}

static void the_times_add_up_to_the_window(void **state)
{
	(void)state;
	struct row list[] = {
		row(0, 60, 60, 60, 0, 40),
		row(60, 120, 30, 10.123456789, 5.1, 50),
		row(120, 180, 0, 0, 0, 0),
	};
	struct series_rows rows = { .list = list, .count = 3 };
	struct totals t = totals_of(&rows, (struct window){ 0, 300 }, true);

	assert_near(t.low, 70.123457, 1e-12);
	assert_near(t.high, 5.1, 1e-12);
	assert_near(t.unknown, 210, 1e-12);
	assert_near(t.low + t.high + t.inside + t.unknown, 300, 1e-12);
	assert_near(t.degree_hours, 2 * (70.123456789 + 5.1) / 3600, 1e-12);
	assert_near(t.mean, (40.0 * 60 + 50.0 * 30) / 90, 1e-12);
	assert_near(t.min, 39, 0);
	assert_near(t.max, 51, 0);
}

static void nothing_known_is_unknown(void **state)
{
	(void)state;
	struct row list[] = { row(0, 60, 0, 0, 0, 0) };
	struct series_rows rows = { .list = list, .count = 1 }, none = { .count = 0 };
	struct totals t = totals_of(&rows, (struct window){ 0, 60 }, true);

	assert_false(t.known);
	assert_near(t.unknown, 60, 0);
	assert_near(t.inside, 0, 0);
	t = totals_of(&none, (struct window){ 0, 86400 }, true);
	assert_false(t.known);
	assert_near(t.unknown, 86400, 0);
}

/* Shares of a file are doubles that may sum to a hair more than the row. */
static void rounding_never_makes_a_time_negative(void **state)
{
	(void)state;
	struct row list[] = { row(0, 60, 60.0000004, 60.0000007, 0, 40) };
	struct series_rows rows = { .list = list, .count = 1 };
	struct totals t = totals_of(&rows, (struct window){ 0, 60 }, true);

	assert_near(t.low, 60, 0);
	assert_near(t.inside, 0, 0);
	assert_near(t.unknown, 0, 0);
}

static void rows_are_cut_in_proportion(void **state)
{
	(void)state;
	struct row list[] = {
		row(0, 600, 600, 0, 0, 40), row(600, 1200, 300, 120, 60, 50),
		row(1200, 1800, 600, 600, 0, 30), row(1800, 2400, 600, 0, 600, 70),
	};
	struct series_rows rows = { .list = list, .count = 4 };

	assert_true(rows_cut(&rows, (struct window){ 750, 1800 }));
	assert_int_equal(rows.count, 2);
	assert_near(list[0].from, 750, 0);
	assert_near(list[0].to, 1200, 0);
	assert_near(list[0].ok, 225, 1e-12);
	assert_near(list[0].low, 90, 1e-12);
	assert_near(list[0].high, 45, 1e-12);
	assert_near(list[0].out, 270, 1e-12);
	assert_near(list[1].low, 600, 0);
	assert_false(rows_cut(&rows, (struct window){ 750, 1800 }));
	assert_false(rows_cut(&rows, (struct window){ 0, 9000 }));
	assert_int_equal(rows.count, 2);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(the_times_add_up_to_the_window),
		cmocka_unit_test(nothing_known_is_unknown),
		cmocka_unit_test(rounding_never_makes_a_time_negative),
		cmocka_unit_test(rows_are_cut_in_proportion),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
