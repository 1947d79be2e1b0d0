/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows into equal steps.
 */
#include "tests/cm.h"

#include "conf/air.h"
#include "report/bins.h"

enum { MINUTE = 60, STEP = 600 };

static const double BEGIN = 1767571200; /* a multiple of STEP */

/* `count` rows of so many seconds each, all known. */
static struct series_rows rows(enum quantity quantity, size_t count, double size, double value)
{
	struct series_rows rows = { { COOL_SIDE, quantity }, calloc(count, sizeof(struct row)),
				    count };

	for (size_t i = 0; i < count; i++)
		rows.list[i] = (struct row){ .from = BEGIN + size * (double)i,
					     .to = BEGIN + size * (double)(i + 1), .ok = size,
					     .has_value = true, .value = value };
	return rows;
}

static struct window hours(double from, double to)
{
	return (struct window){ BEGIN + 3600 * from, BEGIN + 3600 * to };
}

static void means_over_steps(void **state)
{
	struct series_rows humidity = rows(HUMIDITY, 60, MINUTE, 50);
	struct series_rows temperature = rows(TEMPERATURE, 60, MINUTE, 25);
	struct bins bins;

	(void)state;
	for (size_t i = 0; i < 60; i++) {
		humidity.list[i].value = 50 + (double)(i % 10);
		temperature.list[i].value = 20 + (double)(i / 10);
	}
	bins_make(&humidity, &temperature, hours(0, 1), STEP, &bins);
	assert_int_equal(bins.count, 6);
	assert_near(bins.from, BEGIN, 0);
	for (size_t i = 0; i < 6; i++) {
		const struct bin *bin = &bins.list[i];

		assert_near(bin->ok, STEP, 1e-9);
		assert_near(bin->humidity, 54.5, 1e-9);
		assert_near(bin->celsius, 20 + (double)i, 1e-9);
		assert_near(bin->vapour, air_vapour_density(bin->celsius, 54.5), 1e-9);
		assert_near(bin_time(&bins, i), BEGIN + STEP * ((double)i + 0.5), 0);
		assert_ptr_equal(bin_at(&bins, bin_time(&bins, i)), bin);
	}
	bins_clear(&bins);
	assert_null(bins.list);
	free(humidity.list);
	free(temperature.list);
}

/* The mean of the pairs' vapour, not the vapour of the means. */
static void vapour_is_of_pairs(void **state)
{
	struct series_rows humidity = rows(HUMIDITY, 10, MINUTE, 80);
	struct series_rows temperature = rows(TEMPERATURE, 10, MINUTE, 20);
	struct bins bins;

	(void)state;
	for (size_t i = 5; i < 10; i++) {
		humidity.list[i].value = 40;
		temperature.list[i].value = 30;
	}
	bins_make(&humidity, &temperature, hours(0, 1 / 6.0), STEP, &bins);
	assert_int_equal(bins.count, 1);
	assert_near(bins.list[0].vapour,
		    (air_vapour_density(20, 80) + air_vapour_density(30, 40)) / 2, 1e-9);
	bins_clear(&bins);
	free(humidity.list);
	free(temperature.list);
}

/* Weighed by the seconds of a row of which both are known. */
static void the_known_part_alone(void **state)
{
	struct series_rows humidity = rows(HUMIDITY, 30, MINUTE, 50);
	struct series_rows temperature = rows(TEMPERATURE, 30, MINUTE, 25);
	struct bins bins;

	(void)state;
	for (size_t i = 0; i < 10; i++)
		humidity.list[i].has_value = i < 2;
	humidity.list[0].value = 60;
	humidity.list[0].ok = 20;
	temperature.list[1].ok = 10;
	for (size_t i = 10; i < 20; i++)
		temperature.list[i].has_value = false;
	bins_make(&humidity, &temperature, hours(0, 0.5), STEP, &bins);
	assert_int_equal(bins.count, 3);
	assert_near(bins.list[0].ok, 30, 1e-9);
	assert_near(bins.list[0].humidity, (20 * 60 + 10 * 50) / 30.0, 1e-9);
	assert_near(bins.list[1].ok, 0, 0);
	assert_near(bins.list[2].ok, STEP, 1e-9);
	bins_clear(&bins);
	free(humidity.list);
	free(temperature.list);
}

/* Rows of one quantity where the other has none; the rest keeps its place. */
static void rows_that_are_missing(void **state)
{
	struct series_rows humidity = rows(HUMIDITY, 30, MINUTE, 50);
	struct series_rows temperature = rows(TEMPERATURE, 30, MINUTE, 25), none = { 0 };
	struct bins bins;

	(void)state;
	memmove(&humidity.list[5], &humidity.list[15], 15 * sizeof *humidity.list);
	humidity.count = 20;            /* minutes 0..4 and 15..29 */
	bins_make(&humidity, &temperature, hours(0, 0.5), STEP, &bins);
	assert_near(bins.list[0].ok, 300, 1e-9);
	assert_near(bins.list[1].ok, 300, 1e-9);
	assert_near(bins.list[2].ok, 600, 1e-9);
	bins_clear(&bins);
	bins_make(&none, &temperature, hours(0, 0.5), STEP, &bins);
	assert_near(bins.list[0].ok + bins.list[2].ok, 0, 0);
	bins_clear(&bins);
	bins_make(&humidity, &none, hours(0, 0.5), STEP, &bins);
	assert_near(bins.list[0].ok, 0, 0);
	bins_clear(&bins);
	free(humidity.list);
	free(temperature.list);
}

static void a_temperature_alone(void **state)
{
	struct series_rows temperature = rows(TEMPERATURE, 10, MINUTE, 31);
	struct bins bins;

	(void)state;
	bins_make(NULL, &temperature, hours(0, 1 / 6.0), STEP, &bins);
	assert_near(bins.list[0].celsius, 31, 1e-9);
	assert_near(bins.list[0].ok, STEP, 1e-9);
	assert_near(bins.list[0].humidity, 0, 0);
	assert_near(bins.list[0].vapour, 0, 0);
	bins_clear(&bins);
	free(temperature.list);
}

/* Steps begin on multiples, whatever the window does, and cover it. */
static void windows_between_steps(void **state)
{
	struct series_rows humidity = rows(HUMIDITY, 60, MINUTE, 50);
	struct series_rows temperature = rows(TEMPERATURE, 60, MINUTE, 25);
	struct bins bins;

	(void)state;
	bins_make(&humidity, &temperature,
		  (struct window){ BEGIN + 700, BEGIN + 1900 }, STEP, &bins);
	assert_near(bins.from, BEGIN + 600, 0);
	assert_int_equal(bins.count, 3);
	assert_null(bin_at(&bins, BEGIN + 599));
	assert_ptr_equal(bin_at(&bins, BEGIN + 600), &bins.list[0]);
	assert_ptr_equal(bin_at(&bins, BEGIN + 2399), &bins.list[2]);
	assert_null(bin_at(&bins, BEGIN + 2400));
	bins_clear(&bins);
	/* Rows outside it are none of it. */
	bins_make(&humidity, &temperature, hours(2, 3), STEP, &bins);
	for (size_t i = 0; i < bins.count; i++)
		assert_near(bins.list[i].ok, 0, 0);
	bins_clear(&bins);
	free(humidity.list);
	free(temperature.list);
}

/* An hour's row is told where its middle lies, with all its seconds. */
static void rows_coarser_than_steps(void **state)
{
	struct series_rows humidity = rows(HUMIDITY, 2, 3600, 50);
	struct series_rows temperature = rows(TEMPERATURE, 2, 3600, 25);
	struct bins bins;

	(void)state;
	bins_make(&humidity, &temperature, hours(0, 2), STEP, &bins);
	assert_int_equal(bins.count, 12);
	for (size_t i = 0; i < 12; i++)
		assert_near(bins.list[i].ok, i % 6 == 3 ? 3600 : 0, 0);
	bins_clear(&bins);
	free(humidity.list);
	free(temperature.list);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(means_over_steps),
		cmocka_unit_test(vapour_is_of_pairs),
		cmocka_unit_test(the_known_part_alone),
		cmocka_unit_test(rows_that_are_missing),
		cmocka_unit_test(a_temperature_alone),
		cmocka_unit_test(windows_between_steps),
		cmocka_unit_test(rows_coarser_than_steps),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
