/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the next value will do, by those before it.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "report/chance.h"
#include "report/spread.h"

/* Nine values: the first, fifth and last of them (1, 5 and 9 of 10 parts). */
static void nine_values(void **state)
{
	double values[] = { 7, 3, 9, 1, 5, 8, 2, 6, 4 };
	struct spread spread = spread_of(values, 9);

	(void)state;
	assert_int_equal(spread.count, 9);
	assert_near(spread.low, 1, 1e-12);
	assert_near(spread.median, 5, 1e-12);
	assert_near(spread.high, 9, 1e-12);
	for (int i = 0; i < 9; i++)
		assert_near(values[i], i + 1, 0);
}

static void between_two_in_proportion(void **state)
{
	static const double sorted[] = { 10, 20, 30, 50 };

	(void)state;
	assert_near(spread_quantile(sorted, 4, 0.2), 10, 1e-12);
	assert_near(spread_quantile(sorted, 4, 0.3), 15, 1e-12);
	assert_near(spread_quantile(sorted, 4, 0.5), 25, 1e-12);
	assert_near(spread_quantile(sorted, 4, 0.7), 40, 1e-12);
	/* What lies beyond the lowest and highest cannot be told. */
	assert_near(spread_quantile(sorted, 4, 0), 10, 0);
	assert_near(spread_quantile(sorted, 4, 0.1), 10, 0);
	assert_near(spread_quantile(sorted, 4, 0.9), 50, 0);
	assert_near(spread_quantile(sorted, 4, 1), 50, 0);
}

static void few_and_none(void **state)
{
	double one[] = { 4 }, two[] = { 6, 2 };
	struct spread spread = spread_of(one, 1);

	(void)state;
	assert_near(spread.low, 4, 0);
	assert_near(spread.median, 4, 0);
	assert_near(spread.high, 4, 0);
	spread = spread_of(two, 2);
	assert_near(spread.low, 2, 0);
	assert_near(spread.median, 4, 1e-12);
	assert_near(spread.high, 6, 0);
	assert_int_equal(spread_of(NULL, 0).count, 0);
}

/* Between a value and never the interval is the wider, and the median the sooner. */
static void some_never(void **state)
{
	double half[] = { INFINITY, 5, INFINITY, 3 };
	double most[] = { INFINITY, 5, INFINITY, INFINITY, INFINITY, INFINITY, INFINITY,
			  INFINITY, INFINITY, INFINITY, INFINITY, INFINITY };
	double few[] = { 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, INFINITY };
	double all[] = { INFINITY, INFINITY };
	struct spread spread = spread_of(half, 4);

	(void)state;
	assert_near(spread.low, 3, 0);
	assert_near(spread.median, 5, 0);
	assert_true(isinf(spread.high));
	spread = spread_of(most, 12);   /* its tenth part lies at 1.3 of 13 */
	assert_near(spread.low, 5, 0);
	assert_true(isinf(spread.median) && isinf(spread.high));
	spread = spread_of(few, 12);
	assert_near(spread.median, 6.5, 1e-12);
	assert_true(isinf(spread.high));
	spread = spread_of(all, 2);
	assert_true(isinf(spread.low) && isinf(spread.median) && isinf(spread.high));
}

/* Whatever the values are drawn from, the next one lies between low and high 80 times of 100:
 * 20,000 draws of the same seed, four standard deviations of which are 1.1 %. */
static void the_next_one_lies_between(void **state)
{
	static const size_t sizes[] = { 9, 12, 14, 30, 100 };
	enum { DRAWS = 20000 };
	uint64_t chance = 5;

	(void)state;
	for (size_t k = 0; k < sizeof sizes / sizeof *sizes; k++) {
		double values[100];
		int inside = 0, above = 0;

		for (int draw = 0; draw < DRAWS; draw++) {
			double next = -log(chance_even(&chance));
			struct spread spread;

			for (size_t i = 0; i < sizes[k]; i++)
				values[i] = -log(chance_even(&chance));
			spread = spread_of(values, sizes[k]);
			inside += next >= spread.low && next <= spread.high;
			above += next > spread.median;
		}
		printf("of %zu: %.1f %% inside, %.1f %% above the median\n", sizes[k],
		       100.0 * inside / DRAWS, 100.0 * above / DRAWS);
		assert_near((double)inside / DRAWS, 0.80, 0.02);
		assert_near((double)above / DRAWS, 0.50, 0.015);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(nine_values),
		cmocka_unit_test(between_two_in_proportion),
		cmocka_unit_test(few_and_none),
		cmocka_unit_test(some_never),
		cmocka_unit_test(the_next_one_lies_between),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
