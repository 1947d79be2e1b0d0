/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When a misting is due: the air at a place, and what is foretold of it.
 */
#include "tests/cm.h"

#include <time.h>

#include "daemon/due.h"
#include "tests/tub.h"

static const double NOON = 1767614400; /* 2026-01-05T12:00:00Z */

/* ---- the air at a place ------------------------------------------------------- */

static void feed(struct due_air *air, double time, double celsius, double humidity)
{
	due_take(air, TEMPERATURE, (struct sample){ time, celsius });
	due_take(air, HUMIDITY, (struct sample){ time, humidity });
}

/* Steady for six hours from NOON on. */
static struct due_air steady(double celsius, double humidity)
{
	struct due_air air = { 0 };

	for (double t = 0; t <= 6 * 3600; t += 60)
		feed(&air, NOON + t, celsius, humidity + fmod(t / 60, 3) - 1);
	return air;
}

static const double LATER = NOON + 6 * 3600;

/* Half an hour from there to celsius and humidity, then an hour as it is. */
static void move(struct due_air *air, double from_celsius, double from, double celsius,
		 double humidity)
{
	for (double t = 60; t <= 5400; t += 60) {
		double part = fmin(t / 1800, 1);

		feed(air, LATER + t, from_celsius + part * (celsius - from_celsius),
		     from + part * (humidity - from));
	}
}

static void a_misting_is_seen_and_an_open_door_felt(void **state)
{
	(void)state;
	struct due_air air = steady(25, 50);

	assert_false(air.rose);
	assert_near(air.stirred, NOON, 0);
	assert_near(due_humidity(&air), 50, 0.3);
	move(&air, 25, 50, 25, 58);
	assert_true(air.rose);
	assert_true(air.rose_at > LATER + 900 && air.rose_at < LATER + 5000);

	air = steady(25, 50);
	move(&air, 25, 50, 25, 42); /* the room's air came in */
	assert_false(air.rose);
	assert_true(air.stirred > LATER);

	air = steady(25, 50);
	move(&air, 25, 50, 25, 53.5); /* too little to be one */
	assert_near(air.stirred, NOON, 0);
}

/* Neither brings nor takes both. */
static void heating_and_cooling_are_neither(void **state)
{
	(void)state;
	double vapour = air_vapour_density(25, 50);
	struct due_air air = steady(25, 50);

	move(&air, 25, 50, 21.5, air_humidity_at(21.5, vapour)); /* +11 %, of the same vapour */
	assert_false(air.rose);
	assert_near(air.stirred, NOON, 0);

	air = steady(25, 50);
	move(&air, 25, 50, 28.5, 47); /* what is moist gives off more when it is warmed */
	assert_false(air.rose);
	assert_near(air.stirred, NOON, 0);
}

static void a_gap_begins_anew(void **state)
{
	(void)state;
	struct due_air air = steady(25, 50);

	assert_true(due_is_heard(&air, LATER + 2600));
	assert_false(due_is_heard(&air, LATER + 2800));
	feed(&air, LATER + 3000, 25, 70);
	assert_false(air.rose);
	assert_near(air.since, LATER + 3000, 0);
	assert_near(due_humidity(&air), 70, 1e-9);
	/* What is no air is passed over. */
	feed(&air, LATER + 3060, 101, 70);
	feed(&air, LATER + 3120, 25, 70);
	assert_near(due_humidity(&air), 70, 1e-6);
	/* Without a temperature nothing is known. */
	air = (struct due_air){ 0 };
	due_take(&air, HUMIDITY, (struct sample){ LATER, 50 });
	assert_false(due_is_heard(&air, LATER));
}

/* ---- what is foretold ----------------------------------------------------------- */

static const struct rule rule = { .has_band = true, .day = { 45, 60 }, .night = { 45, 60 } };
static const struct day all_day = { 0 };

static struct due foretell(const struct drying_record *record, const struct due_air *air,
			   const struct due_air *room, double horizon)
{
	struct daypart_cache cache = { 0 };
	const struct due_question question = { .record = record, .air = air, .room = room,
					       .rule = &rule, .day = &all_day, .now = LATER };

	return due_foretell(&question, &cache, horizon);
}

static struct due_air room_air(void)
{
	return steady(20, air_humidity_at(20, ROOM));
}

/* Eight hours of drying at 25 °C, until LATER; *state is what it has come to. */
static struct due_air drying(double activity, struct course_state *state)
{
	struct due_air air = { 0 };

	*state = at_rest(25, activity);
	for (double t = LATER - 8 * 3600; t <= LATER; t += 60) {
		feed(&air, t, 25, humidity_of(state, 25) + fmod(t / 60, 3) - 1);
		if (t < LATER)
			let_pass(state, 25, 60);
	}
	return air;
}

/* s from LATER until it is below 45 %, by steps of a minute. */
static double truth(struct course_state state, const double celsius[HOURS_A_DAY])
{
	for (double t = 0;; t += 60) {
		/* LATER is 18:00; the mean of an hour is that of its middle. */
		double hour = fmod(18 + t / 3600 - 0.5, 24), part = hour - floor(hour);
		int a = (int)hour, b = (a + 1) % HOURS_A_DAY;
		double now = celsius[a] + part * (celsius[b] - celsius[a]);

		if (humidity_of(&state, now) < 45)
			return t;
		let_pass(&state, now, 60);
	}
}

static void it_is_dry_when_the_course_says(void **state)
{
	(void)state;
	static const double activities[] = { 0.6, 0.62, 0.64, 0.68 };
	struct due_air room = room_air();
	struct drying_record record = record_of("T", LATER);

	for (size_t i = 0; i < sizeof activities / sizeof *activities; i++) {
		struct course_state begin;
		struct due_air air = drying(activities[i], &begin);
		double then = truth(begin, record.celsius);
		struct due due = foretell(&record, &air, &room, then + 1800);

		print_message("%.0f s, foretold %.0f s\n", then, due.at - LATER);
		assert_int_equal(due.answer, DUE_THEN);
		assert_near(due.at - LATER, then, 1200);
		assert_near(due.edge, 45, 0);
		assert_int_equal(foretell(&record, &air, &room, then - 1800).answer, DUE_LATER);
	}
}

/* By night it is 3 °C cooler, and so damper: it waits for the morning. */
static void it_follows_the_usual_day(void **state)
{
	(void)state;
	struct due_air room = room_air();
	struct drying_record record = record_of("T", LATER);
	struct course_state begin;
	struct due_air air = drying(0.62, &begin);
	double as_it_is = truth(begin, record.celsius);

	for (int hour = 0; hour < HOURS_A_DAY; hour++)
		record.celsius[hour] = hour >= 8 && hour < 20 ? 25 : 22;
	double then = truth(begin, record.celsius);
	struct due due = foretell(&record, &air, &room, 86400);

	print_message("%.0f s, foretold %.0f s; as it is %.0f s\n", then, due.at - LATER, as_it_is);
	assert_true(then > as_it_is + 3600);
	assert_near(due.at - LATER, then, 1800);
	/* On a day that is 2 °C warmer than usual all of it is. */
	for (int hour = 0; hour < HOURS_A_DAY; hour++)
		record.celsius[hour] -= 2;
	assert_near(foretell(&record, &air, &room, 86400).at, due.at, 0);
	/* And where the usual is not known it stays as it is. */
	memset(record.has_hour, 0, sizeof record.has_hour);
	assert_near(foretell(&record, &air, &room, 86400).at - LATER, as_it_is, 1200);
}

/* By night more is wanted: it is too dry when the night begins. */
static void it_knows_the_band_of_then(void **state)
{
	(void)state;
	static const struct rule nights = { .has_band = true, .day = { 40, 60 },
					    .night = { 52, 70 } };
	static const struct day day = { .from = 8 * 3600, .to = 20 * 3600 };
	struct daypart_cache cache = { 0 };
	struct drying_record record = record_of("T", LATER);
	struct course_state begin;
	struct due_air air = drying(0.64, &begin), room = room_air();
	const struct due_question question = { .record = &record, .air = &air, .room = &room,
					       .rule = &nights, .day = &day, .now = LATER };
	struct due due = due_foretell(&question, &cache, 86400);

	assert_true(due_humidity(&air) > 45 && due_humidity(&air) < 52);
	assert_int_equal(due.answer, DUE_THEN);
	assert_near(due.at, LATER + 2 * 3600, 0);
	assert_near(due.edge, 52, 0);
	record.law = (struct course_law){ 1e300, 1e300, 5e-324 }; /* no law of nature */
	assert_int_equal(due_foretell(&question, &cache, 86400).answer, DUE_LATER);
}

static void what_is_not_known_is_not_foretold(void **state)
{
	(void)state;
	struct course_state begin;
	struct due_air air = drying(0.62, &begin), room = room_air(), none = { 0 };
	struct drying_record record = record_of("T", LATER);

	assert_int_equal(foretell(&record, &air, &room, 86400).answer, DUE_THEN);
	assert_int_equal(foretell(&record, &air, &none, 86400).answer, DUE_UNTOLD);
	assert_int_equal(foretell(&record, &none, &room, 86400).answer, DUE_UNTOLD);
	/* Not measured at all. */
	assert_int_equal(foretell(&record, &air, NULL, 86400).answer, DUE_UNTOLD);
	air.stirred = LATER - 3 * 3600 + 60;
	assert_int_equal(foretell(&record, &air, &room, 86400).answer, DUE_UNTOLD);
	air.stirred = LATER - 3 * 3600;
	assert_int_equal(foretell(&record, &air, &room, 86400).answer, DUE_THEN);
	record.law.airing = record.law.exchange = 9; /* at once at rest, but for an hour */
	air.stirred = LATER - 3540;
	assert_int_equal(foretell(&record, &air, &room, 86400).answer, DUE_UNTOLD);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_misting_is_seen_and_an_open_door_felt),
		cmocka_unit_test(heating_and_cooling_are_neither),
		cmocka_unit_test(a_gap_begins_anew),
		cmocka_unit_test(it_is_dry_when_the_course_says),
		cmocka_unit_test(it_follows_the_usual_day),
		cmocka_unit_test(it_knows_the_band_of_then),
		cmocka_unit_test(what_is_not_known_is_not_foretold),
	};

	setenv("TZ", "UTC", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
