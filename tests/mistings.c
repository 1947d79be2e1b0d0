/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Hand-made air, minute by minute, and the mistings found in it.  How many are
 * found in a simulated room is in run-mistings.sh.
 */
#include "tests/cm.h"

#include "conf/air.h"
#include "report/mistings.h"

enum { MINUTES = 2 * 1440 };

static const double BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */

/* Vapour as % of what 24 °C would hold, so that it is the humidity at 24 °C. */
struct air {
	double vapour[MINUTES], celsius[MINUTES];
	bool unknown[MINUTES];
};

static struct air *still_air(double humidity)
{
	struct air *air = calloc(1, sizeof *air);

	for (int i = 0; i < MINUTES; i++) {
		air->vapour[i] = humidity;
		air->celsius[i] = 24;
	}
	return air;
}

/* From minute `at` on it rises by `percent` within 5 minutes, and falls back with that
 * time constant. */
static void mist(struct air *air, int at, double percent, double minutes)
{
	for (int i = at; i < MINUTES; i++)
		air->vapour[i] += percent * fmin((i - at + 1) / 5.0, 1) *
				  exp(-fmax(i - at - 5, 0) / minutes);
}

/* Open from `at` to `until` it falls towards `room` with 2.4 minutes (25 changes of air an
 * hour), and comes back with a time constant afterwards. */
static void open_door(struct air *air, int at, int until, double room, double minutes)
{
	double lost = 0;

	for (int i = at; i < MINUTES; i++) {
		if (i < until)
			lost += (air->vapour[i] - lost - room) * (1 - exp(-1 / 2.4));
		else
			lost *= exp(-1 / minutes);
		air->vapour[i] -= lost;
	}
}

/* Even, with the standard deviation given. */
static double scatter(unsigned *seed, double deviation)
{
	return deviation * sqrt(3) * (2 * (double)rand_r(seed) / RAND_MAX - 1);
}

static double humidity_at(const struct air *air, int minute)
{
	return air->vapour[minute] * air_vapour_density(24, 100) /
	       air_vapour_density(air->celsius[minute], 100);
}

/* Rows of so many minutes, appended. */
static void add_rows(struct series_rows *rows, const struct air *air, int from, int to, int size)
{
	rows->list = realloc(rows->list,
			     (rows->count + (size_t)((to - from) / size)) * sizeof *rows->list);
	for (int i = from; i + size <= to; i += size) {
		struct row row = { .from = BEGIN + i * 60.0, .to = BEGIN + (i + size) * 60.0 };
		double sum = 0;

		for (int k = i; k < i + size; k++) {
			row.ok += air->unknown[k] ? 0 : 60;
			sum += air->unknown[k] ? 0
			       : rows->series.quantity == HUMIDITY ? 60 * humidity_at(air, k)
								   : 60 * air->celsius[k];
		}
		row.has_value = row.ok > 0;
		row.value = row.ok > 0 ? sum / row.ok : NAN;
		row.min = row.max = row.value;
		rows->list[rows->count++] = row;
	}
}

static struct series_rows rows_of(const struct air *air, enum quantity quantity, int size)
{
	struct series_rows rows = { .series = { COOL_SIDE, quantity, false } };

	add_rows(&rows, air, 0, MINUTES, size);
	return rows;
}

/* In rows of so many minutes; the air is freed. */
static struct mistings find(struct air *air, int size)
{
	struct series_rows humidity = rows_of(air, HUMIDITY, size);
	struct series_rows temperature = rows_of(air, TEMPERATURE, size);
	struct mistings found;

	mistings_find(&humidity, &temperature, &found);
	free(humidity.list);
	free(temperature.list);
	free(air);
	return found;
}

static void assert_count(struct mistings found, size_t count)
{
	assert_int_equal(found.count, count);
	mistings_clear(&found);
	assert_null(found.list);
}

/* Minutes between the beginning and the misting. */
static double minute_of(const struct misting *misting)
{
	return (misting->at - BEGIN) / 60;
}

/* ---- what is one ---------------------------------------------------------- */

static void a_misting_is_found(void **state)
{
	struct air *air = still_air(45);
	struct mistings found;

	(void)state;
	mist(air, 600, 15, 90);
	found = find(air, 1);
	assert_int_equal(found.count, 1);
	assert_near(minute_of(&found.list[0]), 600, 2);
	assert_near(found.list[0].from, 45, 0.1);
	assert_near(found.list[0].to, 60, 0.5);
	mistings_clear(&found);
}

/* Wherever in a row it begins; its top is the mean of ten minutes. */
static void in_ten_minute_rows_too(void **state)
{
	(void)state;
	for (int at = 600; at < 610; at++) {
		struct air *air = still_air(45);
		struct mistings found;

		mist(air, at, 12, 60);
		found = find(air, 10);
		assert_int_equal(found.count, 1);
		assert_near(minute_of(&found.list[0]), at, 10);
		assert_near(found.list[0].from, 45, 1);
		assert_near(found.list[0].to, 56, 1.5);
		mistings_clear(&found);
	}
}

/* Fast drying in a screen cage. */
static void it_may_be_gone_in_half_an_hour(void **state)
{
	struct air *air = still_air(50);

	(void)state;
	mist(air, 600, 14, 12);
	mist(air, 900, 14, 12);
	assert_count(find(air, 1), 2);
}

static void hour_rows_show_none(void **state)
{
	struct air *air = still_air(45);
	struct series_rows mixed = { .series = { COOL_SIDE, HUMIDITY, false } };
	struct mistings found;

	(void)state;
	mist(air, 600, 15, 90);
	mist(air, 1600, 15, 90);
	mist(air, 2000, 15, 90);
	mist(air, 2700, 15, 90);
	/* The end is in finer rows than the rest. */
	add_rows(&mixed, air, 0, 1440, 60);
	add_rows(&mixed, air, 1440, 2400, 10);
	add_rows(&mixed, air, 2400, MINUTES, 1);
	mistings_find(&mixed, NULL, &found);
	assert_int_equal(found.count, 3);
	assert_near(minute_of(&found.list[0]), 1600, 10);
	assert_near(minute_of(&found.list[2]), 2700, 2);
	mistings_clear(&found);
	free(mixed.list);
	assert_count(find(air, 60), 0);
}

static void two_close_together_are_one(void **state)
{
	struct air *air = still_air(40);
	struct mistings found;

	(void)state;
	mist(air, 600, 10, 120);
	mist(air, 625, 10, 120);
	mist(air, 1000, 10, 120);
	mist(air, 1090, 10, 120); /* an hour and a half later it is another one */
	found = find(air, 1);
	assert_int_equal(found.count, 3);
	assert_near(minute_of(&found.list[0]), 600, 2);
	assert_near(found.list[0].to, 58, 1.5); /* the top of both */
	mistings_clear(&found);
}

static void a_small_one_in_noise(void **state)
{
	struct air *air = still_air(30);
	struct mistings found;
	unsigned seed = 3;

	(void)state;
	mist(air, 600, 9, 40);
	for (int i = 0; i < MINUTES; i++)
		air->vapour[i] += scatter(&seed, 1.5);
	found = find(air, 1);
	assert_int_equal(found.count, 1);
	assert_near(minute_of(&found.list[0]), 600, 5);
	mistings_clear(&found);
}

/* ---- what is none --------------------------------------------------------- */

static void noise_is_none(void **state)
{
	(void)state;
	for (unsigned seed = 1; seed <= 20; seed++) { /* 40 days */
		struct air *air = still_air(70);
		unsigned chance = seed;

		for (int i = 0; i < MINUTES; i++) {
			air->vapour[i] += scatter(&chance, 1.5);
			air->celsius[i] += scatter(&chance, 0.2);
		}
		assert_count(find(air, 1), 0);
	}
}

/* A thermostat's saw, and lights out: the humidity moves, the vapour does not. */
static void cooling_is_none(void **state)
{
	struct air *air = still_air(60);
	struct series_rows humidity;
	struct mistings found;

	(void)state;
	for (int i = 0; i < MINUTES; i++) {
		int phase = i % 40;

		air->celsius[i] = 26 + (phase < 20 ? phase : 40 - phase) * 0.15 -
				  (i > 2000 ? 4 * (1 - exp((2000 - i) / 10.0)) : 0);
	}
	humidity = rows_of(air, HUMIDITY, 1);
	mistings_find(&humidity, NULL, &found);
	assert_true(found.count > 0 && /* lights out does show in the humidity alone */
		    fabs(minute_of(&found.list[0]) - 2000) < 20);
	mistings_clear(&found);
	free(humidity.list);
	assert_count(find(air, 1), 0);
}

/* It says 100 %, and what is computed of that rises as it gets warmer. */
static void a_wet_sensor_is_none(void **state)
{
	struct air *air = still_air(50);

	(void)state;
	for (int i = 0; i < MINUTES; i++) {
		air->celsius[i] = 24 + (i % 240 < 10 ? i % 240 : 10) * 0.6;
		air->vapour[i] = 99.5 * air_vapour_density(air->celsius[i], 100) /
				 air_vapour_density(24, 100);
	}
	assert_count(find(air, 1), 0);
}

static void a_door_is_none(void **state)
{
	struct air *tight = still_air(60), *airy = still_air(60), *again;

	(void)state;
	open_door(tight, 600, 604, 35, 60);
	open_door(tight, 900, 915, 35, 60); /* it is cleaned */
	again = calloc(1, sizeof *again);
	*again = *tight;
	assert_count(find(tight, 1), 0);
	assert_count(find(again, 10), 0);
	open_door(airy, 600, 604, 35, 5);
	open_door(airy, 900, 915, 35, 5);
	assert_count(find(airy, 1), 0);
}

/* Neither does the door make a misting two.  (One that opens 20 minutes after it and is
 * slow to recover can: what came before is the misting's own top, and not counted.) */
static void a_door_after_a_misting(void **state)
{
	(void)state;
	for (int later = 5; later < 120; later += later == 15 ? 10 : 5) {
		struct air *air = still_air(50);

		mist(air, 600, 16, 150);
		open_door(air, 600 + later, 603 + later, 35, 20);
		assert_count(find(air, 1), 1);
	}
}

static void a_misting_after_a_door(void **state)
{
	struct air *air = still_air(50);

	(void)state;
	open_door(air, 600, 603, 35, 30);
	mist(air, 615, 20, 90);
	assert_count(find(air, 1), 1);
}

static void a_slow_rise_is_none(void **state)
{
	struct air *air = still_air(40);

	(void)state;
	for (int i = 600; i < MINUTES; i++)
		air->vapour[i] += fmin((i - 600) / 240.0, 1) * 30;
	assert_count(find(air, 1), 0);
}

/* ---- what is not known ---------------------------------------------------- */

static void nobody_knows_when_in_a_gap(void **state)
{
	struct air *air = still_air(45);

	(void)state;
	mist(air, 600, 20, 300);
	for (int i = 590; i < 620; i++)
		air->unknown[i] = true;
	assert_count(find(air, 1), 0);
}

static void a_short_gap_hides_none(void **state)
{
	struct air *air = still_air(45);
	struct mistings found;

	(void)state;
	mist(air, 600, 15, 90);
	for (int i = 598; i < 603; i++)
		air->unknown[i] = true;
	found = find(air, 1);
	assert_int_equal(found.count, 1);
	assert_near(minute_of(&found.list[0]), 600, 5);
	mistings_clear(&found);
}

static void nothing_known_gives_none(void **state)
{
	struct series_rows none = { .series = { COOL_SIDE, HUMIDITY, false } };
	struct air *air = still_air(45);
	struct mistings found;

	(void)state;
	mistings_find(&none, NULL, &found);
	assert_count(found, 0);
	mistings_find(&none, &none, &found);
	assert_count(found, 0);
	memset(air->unknown, true, sizeof air->unknown);
	assert_count(find(air, 1), 0);
	assert_count(find(still_air(0), 1), 0); /* quite dry air */
}

/* A thermometer added in the meantime: before, its humidity says nothing. */
static void temperature_of_half_the_time(void **state)
{
	struct air *air = still_air(45);
	struct series_rows humidity, temperature = { .series = { COOL_SIDE, TEMPERATURE, false } };
	struct mistings found;

	(void)state;
	mist(air, 600, 15, 90);
	mist(air, 1800, 15, 90);
	humidity = rows_of(air, HUMIDITY, 1);
	add_rows(&temperature, air, 1440, MINUTES, 1);
	mistings_find(&humidity, &temperature, &found);
	assert_int_equal(found.count, 1);
	assert_near(minute_of(&found.list[0]), 1800, 2);
	mistings_clear(&found);
	/* One that never said anything is none. */
	for (size_t i = 0; i < temperature.count; i++)
		temperature.list[i].has_value = false;
	mistings_find(&humidity, &temperature, &found);
	assert_count(found, 2);
	free(humidity.list);
	free(temperature.list);
	free(air);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_misting_is_found),
		cmocka_unit_test(in_ten_minute_rows_too),
		cmocka_unit_test(it_may_be_gone_in_half_an_hour),
		cmocka_unit_test(hour_rows_show_none),
		cmocka_unit_test(two_close_together_are_one),
		cmocka_unit_test(a_small_one_in_noise),
		cmocka_unit_test(noise_is_none),
		cmocka_unit_test(cooling_is_none),
		cmocka_unit_test(a_wet_sensor_is_none),
		cmocka_unit_test(a_door_is_none),
		cmocka_unit_test(a_door_after_a_misting),
		cmocka_unit_test(a_misting_after_a_door),
		cmocka_unit_test(a_slow_rise_is_none),
		cmocka_unit_test(nobody_knows_when_in_a_gap),
		cmocka_unit_test(a_short_gap_hides_none),
		cmocka_unit_test(nothing_known_gives_none),
		cmocka_unit_test(temperature_of_half_the_time),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
