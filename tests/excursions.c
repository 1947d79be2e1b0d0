/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "report/excursions.h"

/* A minute row: seconds below, above and known, and its mean. */
struct cell {
	double low, high, ok, value;
};

static struct row list[2000];

static struct series_rows rows_of(const struct cell *cells, size_t count)
{
	for (size_t i = 0; i < count; i++)
		list[i] = (struct row){
			.from = 60.0 * (double)i, .to = 60.0 * (double)i + 60,
			.ok = cells[i].ok, .low = cells[i].low, .high = cells[i].high,
			.out = 3 * (cells[i].low + cells[i].high), .has_value = cells[i].ok > 0,
			.value = cells[i].value, .min = cells[i].value, .max = cells[i].value,
		};
	return (struct series_rows){ .list = list, .count = count };
}

static struct excursions found(const struct cell *cells, size_t count, double newest)
{
	struct band_record record = { .has_limits = true, .limits = { 25, 85 },
				      .clock = { 8 * 3600, 20 * 3600, 0 } };
	const struct ribbon ribbon = { &record, 1 };
	struct series_rows rows = rows_of(cells, count);
	struct excursions out;

	excursions_find(&rows, newest, &ribbon, &out);
	return out;
}

#define FOUND(cells, newest) found(cells, sizeof(cells) / sizeof *(cells), newest)

static void ends_touch_their_full_neighbours(void **state)
{
	(void)state;
	const struct cell cells[] = { { 0, 0, 60, 50 }, { 20, 0, 60, 46 }, { 60, 0, 60, 40 },
				      { 60, 0, 60, 38 }, { 45, 0, 60, 44 }, { 0, 0, 60, 50 } };
	struct excursions e = FOUND(cells, 360);

	assert_int_equal(e.count, 1);
	assert_int_equal(e.list[0].side, BELOW);
	assert_near(e.list[0].from, 100, 1e-9);
	assert_near(e.list[0].to, 285, 1e-9);
	assert_near(e.list[0].worst, 38, 0);
	assert_near(e.list[0].degree_hours, 3 * 185.0 / 3600, 1e-12);
	assert_false(e.list[0].lasts);
	assert_false(e.list[0].beyond_limits);
	excursions_clear(&e);
}

static void a_partial_row_in_the_middle_splits(void **state)
{
	(void)state;
	const struct cell cells[] = { { 0, 60, 60, 70 }, { 0, 30, 60, 61 }, { 0, 60, 60, 90 },
				      { 0, 0, 60, 50 } };
	struct excursions e = FOUND(cells, 240);

	assert_int_equal(e.count, 2);
	assert_near(e.list[0].from, 0, 0);
	assert_near(e.list[0].to, 75, 1e-9);
	assert_near(e.list[1].from, 105, 1e-9);
	assert_near(e.list[1].to, 180, 1e-9);
	assert_false(e.list[0].beyond_limits);
	assert_true(e.list[1].beyond_limits);
	excursions_clear(&e);
}

static void unknown_time_ends_an_excursion(void **state)
{
	(void)state;
	const struct cell cells[] = { { 60, 0, 60, 40 }, { 0, 0, 0, 0 }, { 60, 0, 60, 40 },
				      { 30, 0, 30, 40 }, { 60, 0, 60, 20 } };
	struct excursions e = FOUND(cells, 300);

	assert_int_equal(e.count, 3);
	assert_near(e.list[0].to, 60, 0);
	assert_near(e.list[1].from, 120, 0);
	assert_near(e.list[1].to, 195, 1e-9);
	assert_near(e.list[2].from, 225, 1e-9);
	assert_true(e.list[2].lasts);
	assert_true(e.list[2].beyond_limits);
	excursions_clear(&e);
}

static void it_lasts_only_to_the_newest_minute(void **state)
{
	(void)state;
	const struct cell cells[] = { { 0, 0, 60, 50 }, { 60, 0, 60, 40 } };
	struct excursions e = FOUND(cells, 120);

	assert_true(e.list[0].lasts);
	excursions_clear(&e);
	e = FOUND(cells, 6000); /* the window ended before the archive does */
	assert_false(e.list[0].lasts);
	assert_near(e.list[0].to, 120, 0);
	excursions_clear(&e);
}

static void both_sides_in_one_row_do_not_overlap(void **state)
{
	(void)state;
	const struct cell cells[] = { { 60, 0, 60, 40 }, { 20, 25, 60, 52 }, { 0, 60, 60, 70 },
				      { 0, 0, 60, 50 }, { 10, 20, 60, 50 }, { 0, 0, 60, 50 } };
	struct excursions e = FOUND(cells, 360);

	assert_int_equal(e.count, 4);
	assert_near(e.list[0].to, 80, 1e-9);
	assert_near(e.list[1].from, 95, 1e-9);
	assert_near(e.list[1].to, 180, 1e-9);
	assert_near(e.list[2].from, 255, 1e-9);
	assert_near(e.list[2].to, 265, 1e-9);
	assert_near(e.list[3].from, 265, 1e-9);
	assert_near(e.list[3].to, 285, 1e-9);
	excursions_clear(&e);
}

/* Of anything at all, the excursions of a side last as long as its seconds,
 * and their degree-hours are those of the rows. */
static void the_sum_is_that_of_the_rows(void **state)
{
	(void)state;
	static struct cell cells[2000];
	unsigned seed = 20260105;

	print_message("seed %u\n", seed);
	for (int round = 0; round < 50; round++) {
		double sum[SIDES] = { 0 }, rows_sum[SIDES] = { 0 }, hours = 0, rows_hours = 0;

		for (size_t i = 0; i < 2000; i++) {
			double a = rand_r(&seed) % 61, b = rand_r(&seed) % 61;

			cells[i] = (struct cell){ .ok = 60, .value = 50 };
			if (rand_r(&seed) % 3)
				cells[i].low = rand_r(&seed) % 2 ? 60 : fmin(a, b);
			if (cells[i].low < 60 && rand_r(&seed) % 2)
				cells[i].high = fmin(60 - cells[i].low, a);
			rows_sum[BELOW] += cells[i].low;
			rows_sum[ABOVE] += cells[i].high;
			rows_hours += 3 * (cells[i].low + cells[i].high) / 3600;
		}
		struct excursions e = FOUND(cells, 1e9);
		double until[SIDES] = { 0 };

		for (size_t i = 0; i < e.count; i++) {
			assert_true(e.list[i].from >= until[e.list[i].side] - 1e-6);
			assert_true(i == 0 || e.list[i].from >= e.list[i - 1].from - 1e-6);
			until[e.list[i].side] = e.list[i].to;
			sum[e.list[i].side] += e.list[i].to - e.list[i].from;
			hours += e.list[i].degree_hours;
		}
		assert_near(sum[BELOW], rows_sum[BELOW], 1e-6);
		assert_near(sum[ABOVE], rows_sum[ABOVE], 1e-6);
		assert_near(hours, rows_hours, 1e-9);
		excursions_clear(&e);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(ends_touch_their_full_neighbours),
		cmocka_unit_test(a_partial_row_in_the_middle_splits),
		cmocka_unit_test(unknown_time_ends_an_excursion),
		cmocka_unit_test(it_lasts_only_to_the_newest_minute),
		cmocka_unit_test(both_sides_in_one_row_do_not_overlap),
		cmocka_unit_test(the_sum_is_that_of_the_rows),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
