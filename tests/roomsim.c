/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The simulated room's physics against published figures and closed forms,
 * and its promise to be the same for the same seed.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "contrib/roomsim/events.h"
#include "contrib/roomsim/faults.h"
#include "contrib/roomsim/life.h"
#include "contrib/roomsim/model.h"
#include "contrib/roomsim/noise.h"
#include "contrib/roomsim/slave.h"
#include "contrib/roomsim/world.h"

enum { STEP = 10 };     /* s */

/* ---- vapour ------------------------------------------------------------- */

/* reference: ASHRAE Handbook Fundamentals 2017, ch. 1, table 3 (as quoted in
 * PsychroLib's tests), Pa.  The WMO formula is up to 0.31 % low against the
 * newer ones between 25 and 30 °C. */
static void saturation_against_ashrae(void **state)
{
	(void)state;
	assert_near(100 * saturation_pressure(5), 872.6, 0.0035 * 872.6);
	assert_near(100 * saturation_pressure(25), 3169.7, 0.0035 * 3169.7);
	assert_near(100 * saturation_pressure(50), 12351.3, 0.0035 * 12351.3);
	assert_near(saturation_pressure(0), 6.112, 1e-12); /* the formula's own constant */
}

/* reference: the physiologists' table of water in saturated air, mg/L at
 * 20, 30, 37, 40 °C: 17.3, 30.4, 43.9, 51.1 (printed to 0.1). */
static void density_against_table(void **state)
{
	(void)state;
	assert_near(saturation_density(20), 17.3, 0.11);
	assert_near(saturation_density(30), 30.4, 0.15);
	assert_near(saturation_density(37), 43.9, 0.2);
	assert_near(saturation_density(40), 51.1, 0.2);
}

/* Computed: the same air, warmed from 20 °C and 60 %, reads 33.06 % at 30 °C
 * if its vapour pressure stays; at the same density the pressure grows with
 * the kelvins, to 34.19 %. */
static void warming_dries(void **state)
{
	(void)state;
	assert_near(relative_humidity(30, vapour_density(20, 60)), 33.06 * 303.15 / 293.15, 0.01);
	assert_near(relative_humidity(24, vapour_density(24, 47)), 47, 1e-9);
	assert_near(relative_humidity(10, vapour_density(20, 90)), 100, 0);
}

/* How many minutes of airing alone until a share of the vapour is left. */
static double minutes_until(double air_changes, double share)
{
	const struct shell shell = { .air_changes = air_changes, .mass_warm = 1, .mass_cool = 1 };
	const struct around around = { .temperature = 20 };
	struct inside inside = { .warm = 20, .cool = 20, .spot = 20, .vapour = 10 };
	double seconds = 0;

	for (; inside.vapour > 10 * share; seconds += STEP)
		inside_step(&shell, &inside, &around, STEP);
	return seconds / 60;
}

/* reference: MMWR 43 (RR-13), 1994, table S3-1: minutes to remove 90 % and
 * 99 % at 1, 2, 6 and 12 air changes an hour, printed to 1 min. */
static void airing_decays_as_published(void **state)
{
	(void)state;
	assert_near(minutes_until(1, 0.1), 138, 0.7);
	assert_near(minutes_until(1, 0.01), 276, 0.7);
	assert_near(minutes_until(2, 0.1), 69, 0.7);
	assert_near(minutes_until(6, 0.1), 23, 0.7);
	assert_near(minutes_until(12, 0.01), 23, 0.7);
}

/* With no exchange of air, water only moves between air, film and substrate. */
static void closed_box_keeps_its_water(void **state)
{
	(void)state;
	const struct shell shell = { .mass_warm = 1, .mass_cool = 1, .evaporation = 0.8,
				     .soaked = 500, .moist = 0.9 };
	const struct around around = { .temperature = 22 };
	struct inside inside = { .warm = 22, .cool = 22, .vapour = 8, .substrate = 300 };
	double water;

	inside_mist(&shell, &inside, 30, 50);
	water = inside.vapour + inside.film + inside.substrate;
	assert_near(water, 388, 1e-9);
	for (int i = 0; i < 6 * 60 * 24; i++) {
		inside_step(&shell, &inside, &around, STEP);
		assert_near(inside.vapour + inside.film + inside.substrate, water, 1e-6);
	}
	assert_true(inside.film < 25); /* some of it did move */
}

static void misting_stops_when_moist(void **state)
{
	(void)state;
	const struct shell shell = { .soaked = 500, .moist = 0.8 };
	struct inside inside = { .substrate = 390 };

	inside_mist(&shell, &inside, 5, 100);
	assert_near(inside.substrate, 400, 1e-9);
	inside_mist(&shell, &inside, 5, 100);
	assert_near(inside.substrate, 400, 1e-9);
	assert_near(inside.film, 10, 1e-9);
}

/* ---- heat --------------------------------------------------------------- */

/* Two sides in a row, in balance: what the heater gives leaves by both. */
static void stuck_heater_reaches_balance(void **state)
{
	(void)state;
	const struct shell shell = { .loss_warm = 1.2, .loss_cool = 0.8, .mixing = 1.5,
				     .mass_warm = 4000, .mass_cool = 3000, .heater = 30,
				     .set_day = 25, .spot = 0.1 };
	const struct around around = { .temperature = 20, .day = true, .powered = true,
				       .stuck = true };
	struct inside inside = { .warm = 20, .cool = 20, .spot = 20 };
	double warm = 30 / (1.2 + 1.5 * 0.8 / (1.5 + 0.8));

	for (int i = 0; i < 6 * 60 * 48; i++)
		inside_step(&shell, &inside, &around, STEP);
	assert_near(inside.warm, 20 + warm, 0.001);
	assert_near(inside.cool, 20 + warm * 1.5 / (1.5 + 0.8), 0.001);
	assert_near(inside.spot, inside.warm + 3, 0.001);
	assert_near(1.2 * (inside.warm - 20) + 0.8 * (inside.cool - 20), 30, 0.01);
}

/* No heat: all is as cold as the room; sides in one: next to no gradient. */
static void heaters_die_and_gradients_go(void **state)
{
	(void)state;
	struct around around = { .temperature = 20, .vapour = 7, .day = true, .powered = true,
				 .stirred = true };
	const struct shell *shell = &designs[0].shell;
	struct inside inside = inside_begin(shell, &around);

	for (int i = 0; i < 6 * 60 * 24; i++)
		inside_step(shell, &inside, &around, STEP);
	assert_true(inside.warm - inside.cool < 1.5 && inside.warm > shell->set_day - 0.5);
	around.drift = 2;
	for (int i = 0; i < 6 * 60 * 24; i++)
		inside_step(shell, &inside, &around, STEP);
	assert_near(inside.warm, shell->set_day + 2, 0.5);
	around.dead = true;
	for (int i = 0; i < 6 * 60 * 24; i++)
		inside_step(shell, &inside, &around, STEP);
	assert_near(inside.warm, 20, 0.05);
}

/* 35 % while it is moistened; then what the draught brings, 1.5 g/m3. */
static void the_room_dries_out(void **state)
{
	(void)state;
	struct room_around around = { .outdoor_temperature = 2, .outdoor_vapour = 2, .heat = 400,
				      .powered = true };
	struct room room = room_begin(&around);

	for (int i = 0; i < 6 * 60 * 48; i++)
		room_step(&room, &around, STEP);
	assert_near(relative_humidity(room.temperature, room.vapour), 35, 3);
	around.dry = true;
	for (int i = 0; i < 6 * 60 * 12; i++)
		room_step(&room, &around, STEP);
	assert_near(room.vapour, 1.5, 0.1);
}

static void thermostat_holds(void **state)
{
	(void)state;
	const struct around around = { .temperature = 20, .vapour = 7, .day = true,
				       .powered = true };
	const struct shell *shell = &designs[0].shell;
	struct inside inside = inside_begin(shell, &around);

	for (int i = 0; i < 6 * 60 * 24; i++) {
		inside_step(shell, &inside, &around, STEP);
		assert_near(inside.warm, shell->set_day, 0.5);
	}
	assert_true(inside.cool > 22 && inside.cool < 27);
}

static void power_cut_cools_to_the_room(void **state)
{
	(void)state;
	const struct around around = { .temperature = 17, .vapour = 7, .day = true };
	const struct shell *shell = &designs[0].shell;
	struct inside inside = inside_begin(shell, &around);

	for (int i = 0; i < 6 * 60 * 24; i++)
		inside_step(shell, &inside, &around, STEP);
	assert_near(inside.warm, 17, 0.05);
	assert_near(inside.heat, 0, 0);
}

/* ---- chance and events -------------------------------------------------- */

static void bell_is_a_bell(void **state)
{
	(void)state;
	double sum = 0, squares = 0;
	const int count = 100000;

	for (int i = 0; i < count; i++) {
		double x = noise_bell(5, 3, i);

		assert_true(fabs(x) <= 3.5);
		sum += x;
		squares += x * x;
	}
	assert_near(sum / count, 0, 0.02);
	assert_near(squares / count, 1, 0.02);
}

static void faults_are_parsed(void **state)
{
	(void)state;
	static const char *const bad[] = { "", "silent", "silent:a:1h", "loud:a:0:1h",
					   "silent:a:x:1h", "silent:a:0:0", "silent:a:1:-1h",
					   "silent:a:0:1 h", "silent:a:0:nan" };
	struct events events = { 0 };
	char why[256];

	for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++)
		assert_false(event_parse(&events, bad[i], 0, why, sizeof(why)));
	assert_int_equal(events.count, 0);
	assert_true(event_parse(&events, "stuck-heater:M1:-2h:1d12h", 100000, why, sizeof(why)));
	assert_false(event_on(&events, STUCK_HEATER, "M1", 100000 - 7201));
	assert_true(event_on(&events, STUCK_HEATER, "M1", 100000 - 7200));
	assert_true(event_on(&events, STUCK_HEATER, "M1", 100000 - 7200 + 129599));
	assert_false(event_on(&events, STUCK_HEATER, "M1", 100000 - 7200 + 129600));
	assert_false(event_on(&events, STUCK_HEATER, "M2", 100000));
	assert_false(event_on(&events, DOOR_OPEN, "M1", 100000));
	events_free(&events);
}

static void faults_by_chance_keep_apart(void **state)
{
	(void)state;
	const double start = 1767225600, days = 365;
	struct events events = { 0 }, some;
	int kinds[MISHAPS] = { 0 };

	faults_by_chance(&events, 4, start, days, 50);
	assert_int_equal(events.count, 50);
	for (size_t i = 0; i < events.count; i++) {
		assert_true(events.list[i].until - events.list[i].from >= 3600);
		if (i > 0)
			assert_true(events.list[i].from >= events.list[i - 1].until + 6 * 3600);
		kinds[events.list[i].mishap]++;
	}
	assert_true(events.list[0].from >= start);
	assert_true(events.list[49].until <= start + days * 86400);
	for (int kind = 0; kind < MISHAPS; kind++)
		assert_true(kind == CORRUPT_FRAMES ? kinds[kind] == 0 : kinds[kind] >= 4);
	some = events_between(&events, events.list[7].from + 1, events.list[7].until);
	assert_int_equal(some.count, 1);
	assert_true(event_age(&some, some.list[0].mishap, some.list[0].whose,
			      some.list[0].from + 90) == 90);
	events_free(&some);
	events_free(&events);
}

static void a_week_of_chores(void **state)
{
	(void)state;
	for (long first = 0; first < 70; first++) {
		int cleanings = 0;

		for (long day = first; day < first + 7; day++) {
			struct chores chores = chores_of(3, 5, day, false);

			for (size_t i = 0; i < chores.count; i++) {
				const struct opening *opening = &chores.openings[i];
				double minutes = (opening->until - opening->from) / 60;

				assert_true(opening->cleaning ? minutes >= 10 && minutes < 20
							      : minutes >= 2 && minutes < 5);
				cleanings += opening->cleaning;
			}
		}
		assert_int_equal(cleanings, 1);
	}
}

/* Rates as life.h promises, within five standard deviations. */
static void readings_are_lost_as_promised(void **state)
{
	(void)state;
	const int count = 1000000;
	int missed = 0, garbled = 0, late = 0, wet = 0;

	for (int i = 0; i < count; i++) {
		enum fate fate = reading_fate(9, 2, i, false);

		missed += fate == MISSED;
		garbled += fate == GARBLED;
		assert_true(reading_fate(9, 2, i, true) != GARBLED);
		late += misting_delay(9, 1, i, 0) > 0;
		wet += misting_wets(9, 2, i, 0).lasts > 0;
	}
	assert_near(missed, 2000, 230);
	assert_near(garbled, 100, 50);
	assert_near(late, count / 25.0, 1000);
	assert_near(wet, count / 12.0, 1400);
}

static struct world *begun(uint64_t seed, size_t enclosures)
{
	struct world *world = world_new(seed, enclosures);

	world_begin(world, 1767225600, false, (struct events){ 0 });
	return world;
}

/* One world is asked at every probe and minute, the other at a single one. */
static void same_seed_same_readings(void **state)
{
	(void)state;
	struct world *one = begun(7, DESIGNS), *other = begun(7, DESIGNS), *third = begun(8, DESIGNS);
	int a[QUANTITIES], b[QUANTITIES], differing = 0;
	double end = 1767225600 + 7200;

	for (double now = 1767225600; now <= end; now += 60) {
		world_advance(one, now);
		for (size_t i = 0; i < one->probe_count; i++)
			world_read(one, &one->probes[i], now, a);
	}
	world_advance(other, end);
	world_advance(third, end);
	for (size_t i = 0; i < one->probe_count; i++) {
		world_read(one, &one->probes[i], end, a);
		world_read(other, &other->probes[i], end, b);
		assert_int_equal(a[TEMPERATURE], b[TEMPERATURE]);
		assert_int_equal(a[HUMIDITY], b[HUMIDITY]);
		world_read(third, &third->probes[i], end, b);
		differing += a[HUMIDITY] != b[HUMIDITY];
	}
	assert_true(differing > (int)one->probe_count / 2);
	world_free(one);
	world_free(other);
	world_free(third);
}

static void many_enclosures_have_their_own_names(void **state)
{
	(void)state;
	struct world *world = world_new(1, 200);

	for (size_t i = 0; i < world->probe_count; i++)
		for (size_t k = 0; k < i; k++) {
			const struct probe_sim *a = &world->probes[i], *b = &world->probes[k];

			assert_string_not_equal(a->name, b->name);
			assert_false(!a->on_board && !b->on_board && a->rack == b->rack &&
				     a->address == b->address);
			assert_true(a->on_board || (a->address >= 1 && a->address <= 247));
		}
	assert_true(world->racks > 1);
	world_free(world);
}

/* ---- the slave ---------------------------------------------------------- */

/* reference: MODBUS over Serial Line V1.02, appendix B: 02 07 -> 41 12; the
 * check value of this CRC over "123456789" is 0x4B37. */
static void crc_as_published(void **state)
{
	(void)state;
	assert_int_equal(slave_crc((const uint8_t *)"\x02\x07", 2), 0x1241);
	assert_int_equal(slave_crc((const uint8_t *)"123456789", 9), 0x4b37);
}

/* reference: the usual layout of RS-485 transmitters, 0x0001 temperature x 10
 * and 0x0002 humidity x 10: 30.5 °C, 54.6 %. */
static void slave_answers_as_a_transmitter(void **state)
{
	(void)state;
	const uint8_t request[] = { 1, 4, 0, 1, 0, 2, 0x20, 0x0b };
	const uint8_t expected[] = { 1, 4, 4, 0x01, 0x31, 0x02, 0x22, 0x2a, 0xce };
	const struct transmitter transmitter = { { 305, 546 }, 2 };
	uint8_t reply[REPLY_BYTES];

	assert_int_equal(slave_crc(request, sizeof(request)), 0);
	assert_int_equal(slave_reply(request, &transmitter, reply), sizeof(expected));
	assert_memory_equal(reply, expected, sizeof(expected));
}

/* reference: MODBUS Application Protocol V1.1b3, section 7: illegal data
 * address is 02; `01 84 02 C2 C1` for function 04 at address 1. */
static void slave_refuses(void **state)
{
	(void)state;
	const struct transmitter thermometer = { { -100, 0 }, 1 };
	const uint8_t both[] = { 1, 4, 0, 1, 0, 2, 0x20, 0x0b };
	const uint8_t none[] = { 1, 4, 0, 1, 0, 0, 0, 0 };
	const uint8_t other[] = { 1, 6, 0, 1, 0, 2, 0, 0 };
	const uint8_t expected[] = { 1, 0x84, 2, 0xc2, 0xc1 };
	uint8_t reply[REPLY_BYTES];

	assert_int_equal(slave_reply(both, &thermometer, reply), sizeof(expected));
	assert_memory_equal(reply, expected, sizeof(expected));
	assert_int_equal(slave_reply(none, &thermometer, reply), 5);
	assert_int_equal(reply[2], 3);
	assert_int_equal(slave_reply(other, &thermometer, reply), 5);
	assert_int_equal(reply[1], 0x86);
	assert_int_equal(reply[2], 1);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(saturation_against_ashrae),
		cmocka_unit_test(density_against_table),
		cmocka_unit_test(warming_dries),
		cmocka_unit_test(airing_decays_as_published),
		cmocka_unit_test(closed_box_keeps_its_water),
		cmocka_unit_test(misting_stops_when_moist),
		cmocka_unit_test(stuck_heater_reaches_balance),
		cmocka_unit_test(heaters_die_and_gradients_go),
		cmocka_unit_test(the_room_dries_out),
		cmocka_unit_test(thermostat_holds),
		cmocka_unit_test(power_cut_cools_to_the_room),
		cmocka_unit_test(bell_is_a_bell),
		cmocka_unit_test(faults_are_parsed),
		cmocka_unit_test(faults_by_chance_keep_apart),
		cmocka_unit_test(a_week_of_chores),
		cmocka_unit_test(readings_are_lost_as_promised),
		cmocka_unit_test(same_seed_same_readings),
		cmocka_unit_test(many_enclosures_have_their_own_names),
		cmocka_unit_test(crc_as_published),
		cmocka_unit_test(slave_answers_as_a_transmitter),
		cmocka_unit_test(slave_refuses),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
