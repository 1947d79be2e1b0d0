/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What published practice asks of an unattended watch, part 1: when something
 * is to be told.  Each test goes through the whole flow; times are
 * hours:minutes since the scene began, with a reading a minute.
 *
 * Above each test stands where the requirement comes from: "seen" when the
 * passage itself was read, "second hand" when somebody else's restatement was,
 * "from memory" when neither.  None of it was written for reptiles in a home;
 * the words are ours, and no conformity is claimed.
 */
#include "tests/cm.h"

#include "tests/scene.h"

static struct rule *rule_of(struct scene *scene, enum place place, enum quantity quantity)
{
	return &scene->conf->enclosures[0].places[place].rules[quantity];
}

/* Two tiers, high and low, of each place.  OPC UA part 9, limit alarms (seen);
 * Guide for the Care and Use of Laboratory Animals, p. 44 (seen).  That a lower
 * bound above the upper one is refused is tests/loadfaulty's matter. */
static void four_limits(void **state)
{
	(void)state;
	struct scene s;
	/* Inside, out of the band, beyond the limit; and the same below.  The
	 * scene lets each reading wobble upwards by 6 mK. */
	static const double steps[] = { 30.99, 31.1, 35.99, 36.1, 29, 27.0, 26.9, 15.0, 14.9, 29 };

	scene_begin(&s, 1, "", "");
	rule_of(&s, WARM_SIDE, TEMPERATURE)->patience = 600;
	for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
		s.warm[0] = steps[i];
		scene_run(&s, 20);
	}
	scene_expect(&s, "0:30 raised E1 warm_side temperature above_band today\n"
			 "1:01 worsened E1 warm_side temperature above_limits now\n"
			 "1:25 cleared E1 warm_side temperature above_limits now\n"
			 "2:10 raised E1 warm_side temperature below_band today\n"
			 "2:41 worsened E1 warm_side temperature below_limits now\n"
			 "3:05 cleared E1 warm_side temperature below_limits now\n");
	scene_end(&s);
}

/* Over only when it is back inside by more than the edge.  ISA-18.2, basic
 * settings (from memory); OPC UA part 9, B.1.5 (seen). */
static void deadband(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	rule_of(&s, WARM_SIDE, TEMPERATURE)->deadband = 0.5;
	for (int i = 0; i < 360; i++) {
		s.warm[0] = i % 2 ? 31.3 : 30.7;
		scene_run(&s, 1);
	}
	/* Outside for a hair more than half of the time: its hour is used up after two. */
	scene_expect(&s, "1:59 raised E1 warm_side temperature above_band today\n");
	s.warm[0] = 30.51; /* inside, though not by the deadband */
	scene_run(&s, 60);
	scene_expect(&s, "");
	s.warm[0] = 30.4;
	scene_run(&s, 10);
	scene_expect(&s, "7:05 cleared E1 warm_side temperature above_band today\n");
	scene_end(&s);
}

/* A short way out is not told, and its timer starts again on a return.
 * ISA-18.2 (from memory); OPC UA part 9, B.1.5 (seen).  To the second:
 * tests/judge_times. */
static void on_delay(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	rule_of(&s, WARM_SIDE, TEMPERATURE)->on_delay = 600;
	for (int i = 0; i < 5; i++) { /* 9 min each, 45 together */
		s.warm[0] = 37;
		scene_run(&s, 9);
		s.warm[0] = 29;
		scene_run(&s, 1);
	}
	scene_expect(&s, "");
	s.warm[0] = 37;
	scene_run(&s, 20);
	/* Beyond the limit from 0:49:52.5 on, where the line from 29 crosses 36. */
	scene_expect(&s, "1:00 raised E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

/* A short recovery does not end it.  OPC UA part 9, B.1.5 (seen). */
static void off_delay(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.warm[0] = 37;
	scene_run(&s, 5);
	for (int i = 0; i < 3; i++) {
		s.warm[0] = 29;
		scene_run(&s, 5); /* the line is inside for less than 5 min */
		s.warm[0] = 37;
		scene_run(&s, 2);
	}
	scene_expect(&s, "0:01 raised E1 warm_side temperature above_limits now\n");
	s.warm[0] = 29;
	scene_run(&s, 10);
	scene_expect(&s, "0:31 cleared E1 warm_side temperature above_limits now\n");
	scene_end(&s);
}

/* A delay holds back the notice, not the record.  ISPE and PDA guides on
 * chambers (from memory); Pharmacopeial Forum 44(4) on excursions (seen). */
static void a_delay_does_not_hide_the_excursion(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	rule_of(&s, COOL_SIDE, TEMPERATURE)->on_delay = 600;
	scene_run(&s, 5);
	s.cool[0] = 32;
	scene_run(&s, 9);
	s.cool[0] = 25;
	scene_run(&s, 10);
	scene_expect(&s, "");
	assert_near(s.most, 32, 0.01);
	assert_near(s.known, 60 * (double)s.minutes, 1e-6);
	scene_end(&s);
}

/* One long stretch, and many short ones together, are two allowances.  WHO's
 * guide to the devices that travel with vaccine shipments, alarm tables (seen). */
static void single_event_and_cumulative(void **state)
{
	(void)state;
	struct scene s;

	for (int cumulative = 0; cumulative < 2; cumulative++) {
		scene_begin(&s, 1, "", "");
		rule_of(&s, COOL_SIDE, HUMIDITY)->has_daily = cumulative;
		rule_of(&s, COOL_SIDE, HUMIDITY)->daily = 4 * 3600;
		for (int i = 0; i < 3; i++) { /* 1 h 40 min of the 2 h */
			s.humidity[0] = 40;
			scene_run(&s, 100);
			s.humidity[0] = 55;
			scene_run(&s, 60);
		}
		/* 99:50 and 99:40 with the lines on the way, and 40:30 of the third. */
		scene_expect(&s, cumulative ? "6:01 raised E1 cool_side humidity below_band today\n"
					      "7:05 cleared E1 cool_side humidity below_band today\n"
					    : "");
		scene_end(&s);
	}
}

/* What changes too fast is told before it has arrived; a lone value is no
 * trend.  OPC UA part 9, 3.1.15 (seen).  Ours asks for the time that is left,
 * not for a rate; a ramp just under and just over is in tests/trend. */
static void rate_of_change(void **state)
{
	(void)state;
	static const double rates[] = { 0.05, 0.3 }; /* °C a minute, to 34 °C */

	for (size_t i = 0; i < 2; i++) {
		struct scene s;

		scene_begin(&s, 1, "", "");
		scene_run(&s, 30);
		s.warm[0] = 34.5; /* one spike */
		scene_run(&s, 1);
		s.warm[0] = 29;
		scene_run(&s, 90); /* by then it is no more where it was lately */
		scene_expect(&s, "");
		while (s.warm[0] < 34) {
			s.warm[0] += rates[i];
			scene_run(&s, 1);
		}
		/* Ten minutes after it began, at 32.3 °C: the limit is 12 min away. */
		if (i == 0)
			assert_null(strstr(s.log, "runaway"));
		else
			scene_expect(&s, "2:11 raised E1 warm_side temperature runaway now\n");
		scene_end(&s);
	}
}

/* Warm side less cool side, and no verdict while one of them is unknown.  OPC
 * UA part 9, deviation alarms (seen); Guide for the Care and Use of Laboratory
 * Animals, p. 44 (seen). */
static void deviation_between_zones(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "gradient = \"3 C\"\n");
	scene_run(&s, 10);
	/* The cool side's probe fails at 25 °C, the warm side falls to 27 °C. */
	for (int i = 0; i < 180; i++, s.now += 60) {
		const struct reading reading = { .probe = 0, .time = s.now, .has = { true, true },
						 .value = { 27 + i % 5 * 0.01, 50 } };

		flow_reading(s.flow, &reading);
		flow_tick(s.flow, s.now);
	}
	assert_null(strstr(s.log, "no_gradient"));
	assert_non_null(strstr(s.log, "0:19 raised E1 cool_side silent upkeep\n"));
	scene_end(&s);

	scene_begin(&s, 1, "", "gradient = \"3 C\"\n");
	s.warm[0] = 27;
	s.cool[0] = 26.9;
	scene_run(&s, 90);
	scene_expect(&s, "1:00 raised E1 temperature no_gradient today\n");
	scene_end(&s);
}

/* A probe's failure is a state of its own and never a number: it is told, and
 * what stands is neither over nor changed.  NAMUR NE 43 and NE 107 (second
 * hand); IEC 60601-2-19 (from memory). */
static void failure_is_no_value(void **state)
{
	(void)state;
	static const double bad[] = { -127, NAN, 85.1, INFINITY, -127 };
	struct scene s;

	scene_begin(&s, 1, "", "");
	s.cool[0] = 37;
	scene_run(&s, 5);
	scene_expect(&s, "0:01 raised E1 cool_side temperature above_limits now\n");
	s.mute[0] = true;
	for (int i = 0; i < 25; i++) {
		struct reading r = { .probe = 1, .time = s.now, .has = { true, true },
				     .value = { bad[i % 5], NAN } };

		flow_reading(s.flow, &r);
		flow_failed(s.flow, 0, 1, GARBLED); /* and some of them came mangled */
		r = (struct reading){ .probe = 0, .time = s.now, .has = { true, true },
				      .value = { 29, 50 } };
		flow_reading(s.flow, &r);
		scene_run(&s, 1);
	}
	scene_expect(&s, "0:14 raised E1 cool_side silent upkeep\n");
	assert_int_equal(s.flow->probes[1].counters.failed[GARBLED], 25);
	assert_true(s.flow->probes[1].counters.failed[IMPLAUSIBLE] >= 20);
	assert_near(s.least, 37, 0.01);
	assert_near(s.most, 37, 0.01);
	assert_true(s.minutes <= 4);
	scene_end(&s);
}

/* Values that cannot be, that leap and come back, that never move: the first
 * two are counted and never become values, the last is told and goes on being
 * recorded.  QARTOD manual for in-situ temperature (second hand); WMO-No. 8 on
 * automatic stations (from memory). */
static void flat_line_spike_gross_range(void **state)
{
	(void)state;
	struct scene s;
	struct reading r = { .probe = 1, .has = { true, true } };

	scene_begin(&s, 1, "", "");
	scene_run(&s, 5);
	s.cool[0] = 84.99; /* once: some sensors give 85 when they lost their power */
	scene_run(&s, 1);
	s.cool[0] = 25;
	scene_run(&s, 5);
	s.cool[0] = 150; /* and for long */
	scene_run(&s, 5);
	s.cool[0] = 25;
	scene_run(&s, 5);
	assert_int_equal(s.flow->probes[1].counters.failed[SPIKE], 1);
	assert_int_equal(s.flow->probes[1].counters.failed[IMPLAUSIBLE], 5);
	assert_near(s.most, 25, 0.01);
	scene_expect(&s, "");

	size_t before = s.minutes;

	for (int minute = 0; minute <= 24 * 60; minute++, s.now += 60) {
		r.time = s.now;
		r.value[TEMPERATURE] = 25;
		r.value[HUMIDITY] = 50;
		flow_reading(s.flow, &r);
		flow_tick(s.flow, s.now);
	}
	assert_non_null(strstr(s.log, "24:21 raised E1 cool_side frozen upkeep\n"));
	assert_near((double)(s.minutes - before), 24 * 60, 1);
	scene_end(&s);
}

/* A gap is known as one: nothing is drawn through it, and the share of the day
 * that is known is a figure.  QARTOD (second hand); WMO-No. 8 (from memory).
 * How totals count it: tests/totals, tests/rows. */
static void gap_and_completeness(void **state)
{
	(void)state;
	struct scene s;

	scene_begin(&s, 1, "", "");
	scene_run(&s, 11 * 60);
	s.mute[0] = true;
	scene_run(&s, 2 * 60 - 1); /* its last and its next value are 2 h apart */
	s.mute[0] = false;
	s.cool[0] = 26;
	scene_run(&s, 11 * 60 + 3);
	assert_near(s.known / 86400, 0.917, 0.0005);
	assert_near(s.least, 25, 0.01);
	scene_expect(&s, "11:09 raised E1 warm_side silent now\n"
			 "11:09 raised E1 cool_side silent now\n"
			 "11:39 reminded E1 warm_side silent now\n"
			 "11:39 reminded E1 cool_side silent now\n"
			 "12:39 reminded E1 warm_side silent now\n"
			 "12:39 reminded E1 cool_side silent now\n"
			 "13:04 cleared E1 warm_side silent now\n"
			 "13:04 cleared E1 cool_side silent now\n");
	scene_end(&s);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(four_limits),
		cmocka_unit_test(deadband),
		cmocka_unit_test(on_delay),
		cmocka_unit_test(off_delay),
		cmocka_unit_test(a_delay_does_not_hide_the_excursion),
		cmocka_unit_test(single_event_and_cumulative),
		cmocka_unit_test(rate_of_change),
		cmocka_unit_test(deviation_between_zones),
		cmocka_unit_test(failure_is_no_value),
		cmocka_unit_test(flat_line_spike_gross_range),
		cmocka_unit_test(gap_and_completeness),
	};

	setenv("TZ", "UTC0", 1);
	return cmocka_run_group_tests(tests, NULL, NULL);
}
