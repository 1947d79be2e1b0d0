/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Clocks through the whole flow: both nights on which summer time begins and
 * ends, and steps of the wall clock as the watcher takes them, with the clock
 * that decides which time to believe in between.
 */
#include "tests/cm.h"

#include <stdio.h>
#include <time.h>

#include "conf/memory.h"
#include "daemon/clock.h"
#include "tests/stage.h"

/* ---- summer time ----------------------------------------------------------- */

static double local(int month, int day, int hour, int minute)
{
	struct tm tm = { .tm_year = 126, .tm_mon = month - 1, .tm_mday = day, .tm_hour = hour,
			 .tm_min = minute, .tm_isdst = -1 };

	return (double)mktime(&tm);
}

static double hour_of_day(double time)
{
	time_t whole = (time_t)time;
	struct tm tm;

	localtime_r(&whole, &tm);
	return tm.tm_hour + tm.tm_min / 60.0;
}

/* A scene whose warm side is warm by day, 08:00 to 20:00, and cool by night. */
static void night_scene(struct scene *s, double begin)
{
	scene_begin(s, 1, "", "");
	s->conf->day = (struct day){ 8 * 3600, 20 * 3600, 5400 };
	s->conf->enclosures[0].places[WARM_SIDE].rules[TEMPERATURE].night =
		(struct range){ 23, 26 };
	scene_restart(s, begin - SCENE_BEGIN);
}

/* The lamp is on from 08:00 to 20:00 by local time, but on some morning so many
 * hours late. */
static void run_lamp(struct scene *s, double until, double morning, double late)
{
	while (s->now < until) {
		double hour = hour_of_day(s->now);
		bool sleeping = s->now >= morning && s->now < morning + late * 3600;

		s->warm[0] = hour >= 8 && hour < 20 && !sleeping ? 29 : 24.5;
		scene_run(s, 1);
	}
}

/* 2026: summer time begins on March 29th, ends on October 25th. */
static const struct night {
	int month, before, after;
	double length; /* h from 20:00 to 08:00 */
} nights[] = { { 3, 28, 29, 11 }, { 10, 24, 25, 13 } };

static void a_healthy_room_is_quiet_on_both_nights(void **state)
{
	(void)state;
	for (size_t i = 0; i < 2; i++) {
		const struct night *n = &nights[i];
		struct scene s;

		night_scene(&s, local(n->month, n->before, 12, 0));
		run_lamp(&s, local(n->month, n->after, 22, 0), 0, 0);
		scene_expect(&s, "");
		assert_near(s.known, (n->length + 22) * 3600 - 60, 60);
		scene_end(&s);
	}
}

/* The same room is told when its lamp stays off: its hour of patience runs from
 * the end of the changeover, 09:30 by the clock on the wall. */
static void a_lamp_that_stays_off_is_told_by_the_clock_on_the_wall(void **state)
{
	(void)state;
	for (size_t i = 0; i < 2; i++) {
		const struct night *n = &nights[i];
		double morning = local(n->month, n->after, 8, 0);
		struct scene s;

		night_scene(&s, local(n->month, n->before, 12, 0));
		run_lamp(&s, morning + 2.4 * 3600, morning, 12);
		scene_expect(&s, "");
		run_lamp(&s, morning + 3 * 3600, morning, 12);

		double told = local(n->month, n->after, 10, 30) - SCENE_BEGIN;
		char *line = must_print("%.0f:%02.0f raised E1 warm_side temperature below_band "
					"today\n", floor(told / 3600), fmod(told / 60, 60));

		scene_expect(&s, line);
		free(line);
		scene_end(&s);
	}
}

static void bands_change_by_the_clock_on_the_wall(void **state)
{
	(void)state;
	for (size_t i = 0; i < 2; i++) {
		const struct night *n = &nights[i];
		double evening = local(n->month, n->before, 20, 0);
		double morning = local(n->month, n->after, 8, 0);
		struct range band;
		struct scene s;

		assert_near((morning - evening) / 3600, n->length, 0);
		night_scene(&s, evening - 3600);

		const struct live_series *warm = &s.flow->enclosures[0].series[0];
		const struct {
			double time, low, high;
		} rows[] = {
			{ evening - 1, 27, 31 },        { evening, 23, 31 },
			{ evening + 5399, 23, 31 },     { evening + 5400, 23, 26 },
			{ morning - 1, 23, 26 },        { morning, 23, 31 },
			{ morning + 5399, 23, 31 },     { morning + 5400, 27, 31 },
		};

		assert_int_equal(warm->key.place, WARM_SIDE);
		for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
			assert_true(flow_band(s.flow, warm, rows[r].time, &band));
			assert_near(band.low, rows[r].low, 0);
			assert_near(band.high, rows[r].high, 0);
		}
		scene_end(&s);
	}
}

/* ---- steps of the wall clock ------------------------------------------------ */

/* The clocks of a computer whose wall clock steps. */
struct clocks {
	struct clock clock;
	double mono, offset;
};

static const double steps[] = { 3600, -3600, 86400, -86400 };
enum { STEPS = sizeof steps / sizeof *steps };

/* So many minutes, as the watcher takes them. */
static void run(struct scene *s, struct clocks *c, int minutes)
{
	for (; minutes > 0; minutes--, c->mono += 60) {
		struct clock_now now = clock_read(&c->clock, c->mono + c->offset, c->mono);

		if (now.shift != 0 && s->watch)
			watch_shift(s->watch, now.shift);
		else if (now.shift != 0)
			flow_shift(s->flow, now.shift);
		if (now.shift != 0)
			flow_tick(s->flow, now.time); /* before the next reading */
		s->now = now.time;
		scene_run(s, 1);
	}
}

/* Later than the scene's begin, so that no step goes back behind it. */
static const double base = SCENE_BEGIN + 10 * 86400.0;

static struct clocks begin(struct scene *s)
{
	scene_begin(s, 1, "", "");
	scene_restart(s, base - SCENE_BEGIN);
	return (struct clocks){ .mono = 1000, .offset = base - 1000 };
}

/* Events at so many minutes of the monotonic clock, by stamps that are off by
 * `step`. */
struct told {
	int minute;
	const char *what;
};

static void expect(struct scene *s, double step, const struct told *told, size_t count)
{
	char *lines = must_copy("");

	for (size_t i = 0; i < count; i++) {
		long minute = told[i].minute + lround((base - SCENE_BEGIN + step) / 60);
		char *longer = must_print("%s%ld:%02ld %s\n", lines, minute / 60, minute % 60,
					  told[i].what);

		free(lines);
		lines = longer;
	}
	scene_expect(s, lines);
	free(lines);
}

static void a_step_alarms_nobody(void **state)
{
	(void)state;
	for (int i = 0; i < STEPS; i++) {
		struct scene s;
		struct clocks c = begin(&s);

		run(&s, &c, 30);
		c.offset += steps[i];
		run(&s, &c, 240);
		scene_expect(&s, "");
		assert_near(s.now, base + 270 * 60 + steps[i], 0);
		scene_end(&s);
	}
}

/* There and back before it is believed: nothing ever happened. */
static void a_step_that_is_taken_back(void **state)
{
	(void)state;
	static const struct told once[] = {
		{ 60, "raised E1 warm_side temperature above_band today" },
	};

	for (int i = 0; i < STEPS; i++) {
		struct scene s;
		struct clocks c = begin(&s);

		s.warm[0] = 33;
		run(&s, &c, 30);
		c.offset += steps[i];
		run(&s, &c, 9);
		assert_near(s.now, base + 39 * 60, 0);
		c.offset -= steps[i];
		run(&s, &c, 60);
		expect(&s, 0, once, 1);
		scene_end(&s);
	}
}

/* Patience, reminders, and the return: all by the time that really passed. */
static void what_stands_is_told_once_and_reminded_in_time(void **state)
{
	(void)state;
	static const struct told first[] = {
		{ 1, "raised E1 warm_side temperature above_limits now" },
	}, later[] = {
		{ 31, "reminded E1 warm_side temperature above_limits now" },
		{ 91, "reminded E1 warm_side temperature above_limits now" },
		{ 125, "cleared E1 warm_side temperature above_limits now" },
	};

	for (int i = 0; i < STEPS; i++) {
		struct scene s;
		struct clocks c = begin(&s);

		s.warm[0] = 37;
		run(&s, &c, 15);
		expect(&s, 0, first, 1);
		c.offset += steps[i];
		run(&s, &c, 105);
		s.warm[0] = 29;
		run(&s, &c, 20);
		expect(&s, steps[i], later, 3);
		scene_end(&s);
	}
}

/* The hour of shelving, and the day of an acknowledgement, last as long. */
static void shelving_and_acknowledgement_last_as_long(void **state)
{
	(void)state;
	static const struct told begun[] = { { 10, "shelved E1" } }, seen[] = {
		{ 79, "acknowledged E1 warm_side temperature above_limits now" },
	}, ends[] = {
		{ 70, "unshelved E1" },
		{ 71, "raised E1 warm_side temperature above_limits now" },
	}, again[] = {
		{ 79 + 24 * 60, "reminded E1 warm_side temperature above_limits now" },
	};

	for (int i = 0; i < STEPS; i++) {
		struct scene s;
		struct clocks c = begin(&s);

		run(&s, &c, 11);
		scene_ask(&s, ASKED_SHELVE, "E1", 3600);
		expect(&s, 0, begun, 1);
		s.warm[0] = 37;
		run(&s, &c, 20);
		c.offset += steps[i];
		run(&s, &c, 38);
		scene_expect(&s, ""); /* 1:08 */
		run(&s, &c, 11);
		expect(&s, steps[i], ends, 2);
		scene_ask(&s, ASKED_ACK, "E1", 0);
		expect(&s, steps[i], seen, 1);
		c.offset -= steps[i];
		run(&s, &c, 24 * 60 - 1);
		scene_expect(&s, "");
		run(&s, &c, 2);
		expect(&s, 0, again, 1);
		scene_end(&s);
	}
}

/* Believed while a message is gathered, and back: it goes no later. */
static void a_step_holds_no_message_back(void **state)
{
	(void)state;
	for (int i = 0; i < STEPS; i++) {
		struct stage t;
		struct scene *s = &t.scene;
		struct clocks c = { .mono = 1000, .offset = SCENE_BEGIN - 1000 };

		stage_begin(&t, 1,
			    "gather = \"5min\"\n"
			    "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n", "");
		run(s, &c, 10);
		c.offset += steps[i];
		run(s, &c, 7);
		s->warm[0] = 37;
		run(s, &c, 3); /* told from 0:18 on */
		assert_int_equal(stage_logged(&t, "\"raised\""), 1);
		stage_expect(&t, "phone", "");
		run(s, &c, 5); /* believed at 0:20 */
		assert_near(s->now, SCENE_BEGIN + 25 * 60 + steps[i], 0);
		stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n");
		run(s, &c, 20);
		stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n");
		stage_end(&t);
	}
}

/* Nobody takes messages when the clock goes back: they go in order all the same. */
static void a_step_back_keeps_the_order(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;
	struct clocks c = { .mono = 1000, .offset = SCENE_BEGIN - 1000 };

	stage_begin(&t, 1,
		    "gather = \"0s\"\n"
		    "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n", "");
	s->warm[0] = 37;
	run(s, &c, 5);
	c.offset -= 3600;
	run(s, &c, 15);
	s->warm[0] = 29;
	run(s, &c, 10);
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n"
				  "E1 warm side back in its band after 19 min 49 s\n");
	stage_end(&t);
}

/* The first start of all, in 1970, with a lamp that is too hot; the time is
 * known after 20 min. */
static void a_first_start_in_1970(void **state)
{
	(void)state;
	struct scene s;
	struct clocks c = { .mono = 20 };

	scene_begin(&s, 2, "", "");
	scene_restart(&s, 20 - SCENE_BEGIN);
	s.warm[0] = 33;
	run(&s, &c, 20);
	c.offset = SCENE_BEGIN - 20;
	run(&s, &c, 70);
	scene_expect(&s, "1:00 raised E1 warm_side temperature above_band today\n");
	assert_near(s.flow->enclosures[0].series[0].alert.since, SCENE_BEGIN, 0.001);
	scene_end(&s);
}

/* What was gathered when the power went is not kept until the time is known. */
static void a_message_does_not_wait_for_the_time(void **state)
{
	(void)state;
	struct stage t;
	struct scene *s = &t.scene;

	stage_begin(&t, 1,
		    "gather = \"5min\"\n"
		    "webhook \"phone\" { endpoint = \"http://127.0.0.1:9/\" }\n", "");
	s->warm[0] = 37;
	scene_run(s, 3);
	stage_expect(&t, "phone", "");
	stage_kill(&t, -SCENE_BEGIN);
	stage_tick(&t);
	stage_expect(&t, "phone", "");
	s->now += 300; /* what was left of the gathering, and no 56 years */
	stage_tick(&t);
	stage_expect(&t, "phone", "E1 warm side dangerously hot, 37.0 °C\n");
	stage_end(&t);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_healthy_room_is_quiet_on_both_nights),
		cmocka_unit_test(a_lamp_that_stays_off_is_told_by_the_clock_on_the_wall),
		cmocka_unit_test(bands_change_by_the_clock_on_the_wall),
		cmocka_unit_test(a_step_alarms_nobody),
		cmocka_unit_test(a_step_that_is_taken_back),
		cmocka_unit_test(what_stands_is_told_once_and_reminded_in_time),
		cmocka_unit_test(shelving_and_acknowledgement_last_as_long),
		cmocka_unit_test(a_step_holds_no_message_back),
		cmocka_unit_test(a_step_back_keeps_the_order),
		cmocka_unit_test(a_first_start_in_1970),
		cmocka_unit_test(a_message_does_not_wait_for_the_time),
	};

	setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
