/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The computed humidity of hot spots against what the simulated room knows of
 * them: three enclosures under lamps whose hot spot has a thermometer only.
 */
#include "tests/cm.h"

#include "conf/air.h"
#include "contrib/roomsim/world.h"

static const double START = 1767225600; /* 2026-01-01T00:00:00Z */

enum { SPOTS = 3, EVERY = 30, DAYS = 2 };

static const char *const names[SPOTS] = { "P2", "M2", "S1" };

static size_t home_named(const struct world *world, const char *name)
{
	for (size_t i = 0; i < world->home_count; i++)
		if (strcmp(world->homes[i].name, name) == 0)
			return i;
	fail();
	return 0;
}

/* What the probe at a place says; its humidity where it has one. */
static void read_place(struct world *world, size_t home, enum place place, double now,
		       double *celsius, double *humidity)
{
	int tenths[QUANTITIES];

	for (size_t i = 0; i < world->probe_count; i++) {
		struct probe_sim *probe = &world->probes[i];

		if (probe->home != home || probe->place != place)
			continue;
		assert_int_equal(world_read(world, probe, now, tenths), ANSWERS);
		assert_int_equal(probe->has_humidity, humidity != NULL);
		*celsius = tenths[TEMPERATURE] / 10.0;
		if (humidity)
			*humidity = tenths[HUMIDITY] / 10.0;
		return;
	}
	fail();
}

/* The humidity there.  The simulation keeps one vapour density throughout an
 * enclosure; the probe at the cool side sees it as a pressure, and that is what the
 * warmer air of the spot has in common with it: fewer grams, by the kelvins. */
static double known(const struct inside *inside)
{
	return relative_humidity(inside->spot, inside->vapour) * (inside->cool + 273.15) /
	       (inside->spot + 273.15);
}

struct errors {
	double sum, squares, worst;
	double warmer;          /* °C, the most */
	double count;
};

static void compare(struct world *world, const char *name, double now, struct errors *errors)
{
	size_t home = home_named(world, name);
	const struct inside *inside = &world->homes[home].inside;
	double cool, humidity, hot;

	read_place(world, home, COOL_SIDE, now, &cool, &humidity);
	read_place(world, home, HOT_SPOT, now, &hot, NULL);
	double error = air_humidity_elsewhere(cool, humidity, hot) - known(inside);

	errors->sum += error;
	errors->squares += error * error;
	errors->worst = fmax(errors->worst, fabs(error));
	errors->warmer = fmax(errors->warmer, inside->spot - inside->cool);
	errors->count++;
}

/* Tolerances.  A quiet simulated probe scatters by 0.06 °C and 0.4 % and is rounded to
 * tenths; humidity falls by some 6 % of itself a °C.  That makes at most 0.4 % of humidity
 * from the source and 0.5 % of itself from both thermometers: 0.6 % one standard
 * deviation at 80 %.  The simulation's formula (WMO-No. 8) differs from ours by 0.3 % of
 * itself. */
static void as_the_simulation_knows_it(void **state)
{
	struct world *world = world_new(7, 12);

	(void)state;
	world_begin(world, START, false, (struct events){ 0 });
	for (size_t i = 0; i < SPOTS; i++) {
		struct errors errors = { 0 };

		for (double now = START + (double)i * DAYS * 86400;
		     now < START + (double)(i + 1) * DAYS * 86400; now += EVERY) {
			world_advance(world, now);
			compare(world, names[i], now, &errors);
		}
		double mean = errors.sum / errors.count, rms = sqrt(errors.squares / errors.count);

		print_message("%s: up to %.1f °C warmer: mean error %.3f %%, rms %.3f %%, worst %.2f %%\n",
			      names[i], errors.warmer, mean, rms, errors.worst);
		assert_true(errors.warmer > 5);
		assert_near(mean, 0, 0.1);
		assert_true(rms < 0.6);
		assert_true(errors.worst < 3);
	}
	world_free(world);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(as_the_simulation_knows_it),
	};

	setenv("TZ", "UTC", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
