/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Simulated dryings whose floor and time constant are known, minute by minute as a probe
 * tells them: 1.5 % of noise on each humidity and 0.15 °C on each temperature, both
 * quantised, a thermostat's cycles and its night.  Over many seeds the means must be
 * right, and the interval of 80 % must hold the truth about 80 times of 100.  50 seeds;
 * 500 when LONG is set.
 */
#include "tests/cm.h"

#include <stdint.h>
#include <stdio.h>

#include "conf/air.h"
#include "report/chance.h"
#include "report/drying.h"

static const double BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */

/* ---- chance, from a seed -------------------------------------------------- */

/* ---- a drying ------------------------------------------------------------- */

struct scene {
	double time_constant;   /* h */
	double hours;           /* of drying */
	double floor, drop;     /* g/m³ */
	double celsius, night;  /* °C by day; how much colder at night */
	double cycle;           /* °C either side, about 30 minutes */
	double misted;          /* h of the day */
	double humidity_noise;  /* %, of each minute */
	double eddies;          /* g/m³: of the air itself, gone within DRIFTS */
	double response;        /* of the change of saturated vapour that the floor follows */
};

static const double DRIFTS = 20; /* minutes */

enum { BEFORE = 60, LOOKED_AT = 20 }; /* minutes before the misting; behind its top */

static double round_to(double value, double step)
{
	return step * round(value / step);
}

static double celsius_at(const struct scene *scene, double minute, double phase, double *set)
{
	double hour = fmod(scene->misted + (minute - BEFORE) / 60, 24);
	double wanted = scene->celsius - (hour >= 8 && hour < 20 ? 0 : scene->night);
	double period = 28 + 4 * sin(minute / 171); /* no two alike */

	*set += (wanted - *set) / 60;           /* an hour to cool or to warm */
	return *set + scene->cycle * sin(2 * 3.14159265358979323846 * (minute + phase) / period);
}

static struct row row_at(double minute, double value)
{
	return (struct row){ .from = BEGIN + 60 * minute, .to = BEGIN + 60 * (minute + 1),
			     .ok = 60, .has_value = true, .value = value,
			     .min = value, .max = value };
}

/* Minute by minute from the misting on; before it the air is at rest.  The floor is that of the
 * mean temperature while it dries. */
static double *vapour_of(const struct scene *scene, const double *celsius, size_t minutes)
{
	double *vapour = calloc(minutes, sizeof *vapour), mean = 0;
	double kept = exp(-1 / 60.0 / scene->time_constant), above = 0, followed = 0;

	for (size_t i = BEFORE + LOOKED_AT; i < minutes; i++)
		mean += air_vapour_density(celsius[i], 100) /
			(double)(minutes - BEFORE - LOOKED_AT);
	for (size_t i = 0; i < minutes; i++) {
		double wanted = scene->response * (air_vapour_density(celsius[i], 100) - mean);

		followed = i == 0 ? wanted : wanted + (followed - wanted) * kept;
		if (i >= BEFORE)
			above = scene->drop * fmin(((double)i + 0.5 - BEFORE) / 5, 1) *
				exp(-((double)i + 0.5 - BEFORE) / 60 / scene->time_constant);
		vapour[i] = scene->floor + followed + above;
	}
	return vapour;
}

static void simulate(const struct scene *scene, uint64_t seed, struct series_rows *humidity,
		     struct series_rows *temperature)
{
	size_t minutes = BEFORE + (size_t)(scene->hours * 60);
	uint64_t chance = seed * 7919 + (uint64_t)(scene->time_constant * 1000);
	double phase = 30 * chance_even(&chance), set = scene->celsius;
	double *celsius = calloc(minutes, sizeof *celsius), *vapour, eddy = 0;

	humidity->list = calloc(minutes, sizeof *humidity->list);
	temperature->list = calloc(minutes, sizeof *temperature->list);
	humidity->count = temperature->count = minutes;
	for (size_t i = 0; i < minutes; i++)
		celsius[i] = celsius_at(scene, (double)i, phase, &set);
	vapour = vapour_of(scene, celsius, minutes);
	for (size_t i = 0; i < minutes; i++) {
		eddy = eddy * exp(-1 / DRIFTS) + scene->eddies * chance_normal(&chance) *
							 sqrt(1 - exp(-2 / DRIFTS));

		double percent = air_humidity_at(celsius[i], vapour[i] + eddy) +
				 scene->humidity_noise * chance_normal(&chance);

		humidity->list[i] = row_at((double)i, round_to(fmin(percent, 100), 0.1));
		temperature->list[i] =
			row_at((double)i, round_to(celsius[i] + 0.15 * chance_normal(&chance), 0.1));
	}
	free(celsius);
	free(vapour);
}

static void dry(const struct scene *scene, uint64_t seed, struct drying *out)
{
	struct series_rows humidity = { .series = { COOL_SIDE, HUMIDITY } };
	struct series_rows temperature = { .series = { COOL_SIDE, TEMPERATURE } };
	struct band_record record = { .time = -INFINITY, .clock = { 28800, 72000, 5400 } };
	struct ribbon ribbon = { &record, 1 };
	struct misting misting = { BEGIN + 60 * BEFORE, 0, 0 };
	struct bins bins;

	simulate(scene, seed, &humidity, &temperature);
	bins_make(&humidity, &temperature,
		  (struct window){ BEGIN, BEGIN + 60 * (double)humidity.count }, DRYING_STEP,
		  &bins);
	drying_fit(&(struct drying_air){ &bins, NULL, &ribbon }, misting,
		   BEGIN + 60 * (double)humidity.count, out);
	bins_clear(&bins);
	free(humidity.list);
	free(temperature.list);
}

/* ---- many ----------------------------------------------------------------- */

struct tally {
	int fitted, seeds;
	double time_constant, floor;    /* sums */
	int time_constant_in, floor_in; /* its interval holds the truth */
};

static void assert_in(double value, double low, double high)
{
	assert_near(value, (low + high) / 2, (high - low) / 2 + 1e-9);
}

static bool holds(struct range range, double value)
{
	return value >= range.low && value <= range.high;
}

static struct tally tally_of(const struct scene *scene, int seeds)
{
	struct tally tally = { .seeds = seeds };
	struct drying drying;

	for (int seed = 1; seed <= seeds; seed++) {
		dry(scene, (uint64_t)seed, &drying);
		if (drying.verdict != DRYING_FITTED)
			continue;
		tally.fitted++;
		tally.time_constant += drying.time_constant;
		tally.floor += drying.floor;
		tally.time_constant_in +=
			holds(drying_time_constant_range(&drying), scene->time_constant);
		tally.floor_in += holds(drying_floor_range(&drying), scene->floor);
	}
	return tally;
}

static const struct {
	double time_constant, hours;
} asked[] = { { 0.8, 10 }, { 0.8, 24 }, { 1.5, 24 }, { 3, 24 }, { 5, 24 },
	      { 8, 24 },   { 12, 24 },	{ 12, 48 }, { 40, 72 } };

/* Of 500 seeds an interval must hold as many truths as is asked.  50 seeds may by their own
 * chance be off by 17 % more (three standard deviations of a binomial count), and means by
 * what three standard errors of theirs come to at most. */
static void assert_truth(struct scene scene, double low, double high)
{
	bool is_long = getenv("LONG");

	for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
		scene.time_constant = asked[i].time_constant;
		scene.hours = asked[i].hours;

		struct tally tally = tally_of(&scene, is_long ? 500 : 50);
		double n = tally.fitted, slack = is_long ? 0 : 0.17;
		double bias = tally.time_constant / n / scene.time_constant - 1;
		double floor_bias = tally.floor / n / scene.floor - 1;
		double holds_time = tally.time_constant_in / n, holds_floor = tally.floor_in / n;

		printf("%4.1f h in %2.0f h: %d of %d fitted; time constant %+.2f %%, interval "
		       "holds %.1f %%; floor %+.2f %%, %.1f %%\n",
		       scene.time_constant, scene.hours, tally.fitted, tally.seeds, 100 * bias,
		       100 * holds_time, 100 * floor_bias, 100 * holds_floor);
		assert_true(tally.fitted >= 0.98 * tally.seeds);
		assert_near(bias, 0, is_long ? 0.03 : 0.06);
		assert_near(floor_bias, 0, 0.03);
		assert_in(holds_time, low - slack, high + slack);
		assert_in(holds_floor, low - slack, high + slack);
	}
}

/* Heating cycles and a night 3 °C colder; the vapour knows nothing of them. */
static const struct scene plain = {
	.floor = 9, .drop = 6, .celsius = 25, .night = 3, .cycle = 0.8, .misted = 9,
	.humidity_noise = 1.5,
};

static void a_floor_that_stands(void **state)
{
	(void)state;
	assert_truth(plain, 0.75, 0.85);
}

static void misted_towards_the_night(void **state)
{
	struct scene scene = plain;

	(void)state;
	scene.misted = 17;
	scene.cycle = 0.5;
	assert_truth(scene, 0.75, 0.85);
}

/* Substrate gives off less in the night: half of what the saturated vapour falls by. */
static void a_floor_that_follows_the_temperature(void **state)
{
	struct scene scene = plain;

	(void)state;
	scene.night = 4;
	scene.misted = 16;
	scene.response = 0.5;
	assert_truth(scene, 0.75, 0.85);
}

/* Residuals that hang together: errors told as if they did not would hold half of it. */
static void air_that_drifts(void **state)
{
	struct scene scene = plain;

	(void)state;
	scene.night = 0;
	scene.eddies = 0.2;
	assert_truth(scene, 0.70, 0.85);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_floor_that_stands),
		cmocka_unit_test(misted_towards_the_night),
		cmocka_unit_test(a_floor_that_follows_the_temperature),
		cmocka_unit_test(air_that_drifts),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
