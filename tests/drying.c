/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Made-up dryings, step by step: what is told of each, and why of others nothing.  How
 * well it is told of noisy ones is in tests/drying_seeds.c, when it passes an edge in
 * tests/drying_edges.c.
 */
#include "tests/cm.h"

#include "conf/air.h"
#include "tests/drying_case.h"

/* ---- what is told --------------------------------------------------------- */

static void floor_and_time_constant(void **state)
{
	struct air air = usual();
	struct drying drying = dry(&air);
	struct range time, floor;

	(void)state;
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_null(drying_reason(drying.verdict));
	assert_near(drying.time_constant, 3, 0.05);
	assert_near(drying.floor, 9, 0.05);
	assert_near(drying.at, BEGIN + MISTED * DRYING_STEP, 0);
	assert_near(drying.before, 40, 0);
	assert_near(drying.top, 70, 0);
	/* The drop is that of `from`, behind the highest step. */
	assert_near(drying.from, drying.at + DRYING_STEP, 0);
	assert_near(drying.drop, 7 * exp(-1 / 18.0), 0.05);
	assert_near(drying.celsius, WARM, 1e-9);
	assert_near(drying.floor_humidity, air_humidity_at(WARM, drying.floor), 1e-9);
	assert_true(drying.freedom > 50);

	time = drying_time_constant_range(&drying);
	floor = drying_floor_range(&drying);
	assert_true(time.low < drying.time_constant && drying.time_constant < time.high);
	assert_true(floor.low < drying.floor && drying.floor < floor.high);
	assert_near(time.low * time.high, pow(drying.time_constant, 2), 1e-9);
}

/* Of what is sprayed some still evaporates: the top comes later. */
static void it_begins_behind_the_top(void **state)
{
	struct air air = usual();
	struct drying drying;

	(void)state;
	for (size_t i = 0; i < 3; i++)
		set_step(&air.inside.list[MISTED + i], 12 + (double)i, i);
	drying = dry(&air);
	assert_near(drying.from, drying.at + 4 * DRYING_STEP, 0);
	assert_near(drying.time_constant, 3, 0.05);
}

static void until_the_next_misting(void **state)
{
	struct air air = usual();
	struct drying drying;

	(void)state;
	for (size_t i = MISTED + 60; i < air.inside.count; i++)
		set_step(&air.inside.list[i], 16, i);
	air.end = BEGIN + (MISTED + 60) * DRYING_STEP + 300;
	drying = dry(&air);
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_near(drying.to, BEGIN + (MISTED + 60) * DRYING_STEP, 0);
	assert_near(drying.time_constant, 3, 0.1);
}

static void a_week_at_most(void **state)
{
	struct air air = falling(9, 7, 30, 10 * 24);
	struct drying drying = dry(&air);

	(void)state;
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_near(drying.to - drying.at, 7 * 86400, DRYING_STEP);
	assert_near(drying.time_constant, 30, 0.5);
}

/* Vapour lost at step `at`, coming back as the enclosure does. */
static void open_door(struct air *air, size_t at, double lost, double time_constant)
{
	for (size_t i = at; i < air->inside.count; i++) {
		double hours = ((double)(i - at) + 0.5) * DRYING_STEP / 3600;
		double part = i == at ? 0.6 : exp(-hours / time_constant);

		set_step(&air->inside.list[i], air->inside.list[i].vapour - lost * part, i);
	}
}

static void open_doors_do_not_matter(void **state)
{
	struct air air = usual();
	struct drying drying;

	(void)state;
	open_door(&air, MISTED + 8, 4, 3);
	open_door(&air, MISTED + 70, 2, 3);
	drying = dry(&air);
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_near(drying.time_constant, 3, 0.1);
	assert_near(drying.floor, 9, 0.05);
}

/* Two steps that no air could come back from so soon. */
static void nor_does_a_probe_that_errs(void **state)
{
	struct air air = usual();
	struct drying drying;

	(void)state;
	for (size_t k = 0; k < 2; k++)
		set_step(&air.inside.list[MISTED + 12 + k], 7, k);
	drying = dry(&air);
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_near(drying.time_constant, 3, 0.1);
	assert_near(drying.floor, 9, 0.05);
}

static void a_gap_does_not_matter(void **state)
{
	struct air air = usual();
	struct drying drying;

	(void)state;
	for (size_t i = MISTED + 10; i < MISTED + 40; i++)
		air.inside.list[i] = (struct bin){ 0 };
	drying = dry(&air);
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_near(drying.time_constant, 3, 0.1);
	assert_near(drying.floor, 9, 0.1);
}

/* At 100 % for two hours, while the air itself falls. */
static void a_wet_probe_is_waited_for(void **state)
{
	struct air air = usual();
	struct drying drying;

	(void)state;
	for (size_t i = MISTED; i < MISTED + 12; i++)
		set_step(&air.inside.list[i], air_vapour_density(WARM, 105), i);
	drying = dry(&air);
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_near(drying.from, drying.at + 14 * DRYING_STEP, 0);
	assert_near(drying.time_constant, 3, 0.1);
}

/* At 98 % for an hour, and dry within minutes; so much is left of it. */
static struct drying wet_drying(double hours, double time_constant)
{
	struct air air = falling(9, 7, time_constant, hours);

	for (size_t i = MISTED; i < MISTED + 6; i++)
		set_step(&air.inside.list[i], air_vapour_density(WARM, 98), i);
	set_step(&air.inside.list[MISTED + 6],
		 vapour_of(9, 7, time_constant, MISTED + 6) + 3, MISTED + 6);
	return dry(&air);
}

static void the_probes_own_water_is_no_air(void **state)
{
	static const double constants[] = { 1, 3, 8 };

	(void)state;
	for (size_t i = 0; i < 3; i++) {
		struct drying drying = wet_drying(24, constants[i]);

		assert_int_equal(drying.verdict, DRYING_FITTED);
		assert_near(drying.from, drying.at + 8 * DRYING_STEP, 0);
		assert_near(drying.time_constant, constants[i], 0.1 * constants[i]);
		assert_true(drying.top < 66);
	}
	assert_int_equal(wet_drying(3, 3).verdict, DRYING_WET);
	assert_true(wet_drying(4, 3).verdict != DRYING_WET);
}

/* From 97 % the air itself falls, quickly: all of that is told. */
static void moist_air_is_no_wet_probe(void **state)
{
	struct air air = falling(9, air_vapour_density(WARM, 97) - 8.9, 1, 12);
	struct drying drying = dry(&air);

	(void)state;
	assert_int_equal(drying.verdict, DRYING_FITTED);
	assert_near(drying.from, drying.at + DRYING_STEP, 0);
	assert_near(drying.time_constant, 1, 0.05);
	assert_near(drying.top, 70, 0);
}

static void the_room_beside_it(void **state)
{
	struct air air = falling(9, 7, 3, 12), alone = falling(9, 7, 3, 12);
	struct drying drying;

	(void)state;
	air.has_room = true;
	drying = dry(&air);
	assert_true(drying.has_room);
	assert_near(drying.room, 9, 0.02);
	/* Nothing else gives off water: all of it is air that is changed. */
	assert_true(drying.has_air_changes);
	assert_near(drying.air_changes, 1 / 3.0, 0.01);
	drying = dry(&alone);
	assert_false(drying.has_room);
	assert_false(drying.has_air_changes);
}

/* The room is drier than the floor: something gives off water, and what is told is less than
 * the 1/3 per hour with which the air falls; but the fall is looked at (7 (1 - exp -2) g/m³
 * of an excess that sums up to 36 g/m³ h), not the day's rest behind it (0.07). */
static void a_drier_room(void **state)
{
	struct air air = usual();
	struct drying drying;

	(void)state;
	for (size_t i = 0; i < air.room.count; i++)
		set_step(&air.room.list[i], 6, i + 1000);
	air.has_room = true;
	drying = dry(&air);
	assert_true(drying.has_air_changes);
	assert_near(drying.air_changes, 0.165, 0.01);
}

/* ---- why nothing is told -------------------------------------------------- */

static void assert_verdict(struct air *air, enum drying_verdict verdict, const char *reason)
{
	struct drying drying = dry(air);

	assert_int_equal(drying.verdict, verdict);
	assert_string_equal(drying_reason(verdict), reason);
	assert_false(drying.has_air_changes);
	assert_near(drying.time_constant, 0, 0);
	assert_int_equal(drying.edge.reach, REACH_UNTOLD);
}

static void misted_again_too_soon(void **state)
{
	struct air air = falling(9, 7, 3, 1.5);

	(void)state;
	assert_verdict(&air, DRYING_SHORT, "the next misting came too soon");
}

static void nothing_archived_after_it(void **state)
{
	struct air air = falling(9, 7, 3, 0);

	(void)state;
	assert_verdict(&air, DRYING_SHORT, "the next misting came too soon");
}

static void too_little_known(void **state)
{
	struct air air = usual();

	(void)state;
	for (size_t i = MISTED + 30; i < MISTED + 100; i++)
		air.inside.list[i].ok = 0;
	assert_verdict(&air, DRYING_GAPS, "too little of it is known");
}

/* The first hours alone are known, and the probe was wet then. */
static void nothing_known_behind_it(void **state)
{
	struct air air = falling(9, 7, 3, 4);
	struct drying drying;

	(void)state;
	for (size_t i = MISTED; i < MISTED + 6; i++)
		set_step(&air.inside.list[i], air_vapour_density(WARM, 105), i);
	for (size_t i = MISTED; i < air.inside.count; i++)
		air.inside.list[i].ok = i < MISTED + 6 ? DRYING_STEP : 0;
	drying = dry(&air);
	assert_int_equal(drying.verdict, DRYING_GAPS);
	assert_true(isnan(drying.celsius));
}

static void wet_for_too_long(void **state)
{
	struct air air = usual();

	(void)state;
	for (size_t i = MISTED; i < MISTED + 135; i++)
		set_step(&air.inside.list[i], air_vapour_density(WARM, 105), i);
	assert_verdict(&air, DRYING_WET, "the probe itself was wet");
}

static void it_stays(void **state)
{
	struct air air = falling(16, 0, 3, 24);

	(void)state;
	assert_verdict(&air, DRYING_FLAT, "it does not fall");
}

/* By 1 %: no probe is that good. */
static void it_hardly_falls(void **state)
{
	struct air air = falling(16, 0.16, 3, 24);

	(void)state;
	assert_verdict(&air, DRYING_FLAT, "it does not fall");
}

static void it_rises(void **state)
{
	struct air air = falling(16, -4, 6, 24);

	(void)state;
	assert_verdict(&air, DRYING_FLAT, "it does not fall");
}

static void too_slow_for_its_length(void **state)
{
	struct air air = falling(9, 7, 40, 20);

	(void)state;
	assert_verdict(&air, DRYING_SLOW, "it falls too slowly for its length");
}

/* A straight line is the begin of a very long exponential. */
static void no_end_in_sight(void **state)
{
	struct air air = falling(9, 7, 3, 24);

	(void)state;
	for (size_t i = MISTED; i < air.inside.count; i++)
		set_step(&air.inside.list[i], 16 - 0.02 * (double)i, i);
	assert_verdict(&air, DRYING_SLOW, "it falls too slowly for its length");
}

/* Up and down for hours, as under a fan that comes and goes. */
static void not_towards_a_floor(void **state)
{
	struct air air = falling(9, 3, 4, 24);

	(void)state;
	for (size_t i = MISTED; i < air.inside.count; i++)
		set_step(&air.inside.list[i],
			 vapour_of(10, 3, 4, i) + 1.6 * sin((double)i / 5), i);
	assert_verdict(&air, DRYING_RAGGED, "it falls, but not towards a floor");
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(floor_and_time_constant),
		cmocka_unit_test(it_begins_behind_the_top),
		cmocka_unit_test(until_the_next_misting),
		cmocka_unit_test(a_week_at_most),
		cmocka_unit_test(open_doors_do_not_matter),
		cmocka_unit_test(nor_does_a_probe_that_errs),
		cmocka_unit_test(a_gap_does_not_matter),
		cmocka_unit_test(a_wet_probe_is_waited_for),
		cmocka_unit_test(the_probes_own_water_is_no_air),
		cmocka_unit_test(moist_air_is_no_wet_probe),
		cmocka_unit_test(the_room_beside_it),
		cmocka_unit_test(a_drier_room),
		cmocka_unit_test(misted_again_too_soon),
		cmocka_unit_test(nothing_archived_after_it),
		cmocka_unit_test(too_little_known),
		cmocka_unit_test(nothing_known_behind_it),
		cmocka_unit_test(wet_for_too_long),
		cmocka_unit_test(it_stays),
		cmocka_unit_test(it_hardly_falls),
		cmocka_unit_test(it_rises),
		cmocka_unit_test(too_slow_for_its_length),
		cmocka_unit_test(no_end_in_sight),
		cmocka_unit_test(not_towards_a_floor),
	};

	setenv("TZ", "UTC", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
