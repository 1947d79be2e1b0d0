/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Runaway: what the judge makes of a trend.  Simulated with seeds that are
 * fixed: a heater that is stuck on, an opened door, a spike, noise.  The
 * figures printed are what the manual may promise.  The day is at UTC; the
 * rules are invented for the test.
 */
#include "tests/cm.h"

#include <time.h>

#include "contrib/roomsim/noise.h"
#include "daemon/judge.h"

static const struct day always_day = { .from = 0, .to = 0 };
static const struct day day = { .from = 8 * 3600, .to = 20 * 3600, .changeover = 5400 };
static const double noon = 1767614400; /* 2026-01-05T12:00:00Z */
static const double polls[] = { 10, 60 };
static const double noise = 0.2; /* °C, sigma */

static const struct rule temperature = {
	.has_limits = true, .limits = { 15, 36 }, .deadband = 0.5, .off_delay = 300,
};

struct run {
	struct rule rule;
	enum quantity quantity;
	const struct day *day;
	double gap;             /* 0: a place that is not judged for runaway */
	struct judged judged;
	struct daypart_cache cache;
	size_t told;            /* how often it came to be due */
	double first;           /* when for the first time */
	enum side side;
};

static struct run run_of(double poll)
{
	return (struct run){ .rule = temperature, .quantity = TEMPERATURE, .day = &always_day,
			     .gap = 3 * poll + 1 };
}

static void feed(struct run *run, double time, double value)
{
	bool due = run->judged.runaway.due;

	judge_reading(&run->judged, run->quantity, &run->rule, run->day, &run->cache, 600,
		      run->gap, (struct sample){ time, value });
	if (!run->judged.runaway.due || due)
		return;
	if (run->told++ == 0) {
		run->first = time;
		run->side = run->judged.runaway.side;
	}
}

/* ---- a heater that is stuck on -------------------------------------------------- */

/* From 31 °C towards 45 °C with a time constant in min, since t = 0. */
static double heating(double t, double minutes)
{
	return t < 0 ? 31 : 45 - 14 * exp(-t / (60 * minutes));
}

struct lead {
	double least, mean;     /* min between the message and the crossing of 36 °C */
	unsigned told, of;
};

static struct lead stuck_heater(double poll, double minutes)
{
	struct lead lead = { .least = INFINITY, .of = 200 };
	const double crossing = 60 * minutes * log(14.0 / 9);

	for (unsigned seed = 1; seed <= lead.of; seed++) {
		struct run run = run_of(poll);
		double t = -3600 + poll * (seed % 7) / 7.0;

		for (int i = 0; t < crossing; t += poll)
			feed(&run, noon + t,
			     heating(t, minutes) + noise * noise_bell(seed, 1, i++));
		if (run.told == 0)
			continue;
		assert_int_equal(run.side, ABOVE);
		assert_true(run.first > noon);
		lead.told++;
		lead.mean += (noon + crossing - run.first) / 60;
		lead.least = fmin(lead.least, (noon + crossing - run.first) / 60);
	}
	lead.mean /= lead.told;
	return lead;
}

static void a_stuck_heater_is_told_before_it_is_too_hot(void **state)
{
	(void)state;
	static const struct {
		double poll, minutes, mean;
		unsigned told; /* of 200, at least */
	} rows[] = {
		{ 10, 60, 14, 200 }, { 10, 90, 13, 200 }, { 10, 120, 11.5, 200 },
		{ 60, 60, 12, 200 }, { 60, 90, 11, 198 }, { 60, 120, 9, 190 },
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct lead lead = stuck_heater(rows[i].poll, rows[i].minutes);

		print_message("stuck heater, %g min, polls of %g s: told %u of %u times, %.1f min "
			      "before the limit (least %.1f)\n",
			      rows[i].minutes, rows[i].poll, lead.told, lead.of, lead.mean,
			      lead.least);
		assert_true(lead.told >= rows[i].told);
		assert_true(lead.mean >= rows[i].mean);
	}
}

/* ---- what is none ----------------------------------------------------------------- */

static void noise_1_5_inside_a_limit_is_none(void **state)
{
	(void)state;
	static const int days[] = { 60, 365 };

	for (size_t p = 0; p < 2; p++) {
		struct run run = run_of(polls[p]);
		double end = days[p] * 86400.0;

		run.rule.limits.low = 33; /* 34.5 is 1.5 inside on either side */
		for (int i = 0; i * polls[p] < end; i++)
			feed(&run, noon + i * polls[p], 34.5 + noise * noise_bell(p, 2, i));
		print_message("noise, polls of %g s: told %zu times in %d days\n", polls[p],
			      run.told, days[p]);
		assert_int_equal(run.told, 0);
	}
}

/* Opened: 5 °C down in 2 min.  Shut after a while, it comes back with a time
 * constant in min (0: never). */
static double door(double t, double open, double minutes)
{
	if (t < 120)
		return t < 0 ? 0 : -5 * t / 120;
	return minutes <= 0 || t < 120 + open ? -5
					      : -5 * exp(-(t - 120 - open) / (60 * minutes));
}

static void an_opened_door_is_none(void **state)
{
	(void)state;
	static const double back[] = { 0, 5, 10, 20, 40 };
	unsigned doors = 0;

	for (size_t p = 0; p < 2; p++)
		for (unsigned n = 0; n < 500; n++) {
			struct run run = run_of(polls[p]);
			double open = 180 * (n % 4), t = -5400 + noise_even(n, 3, 0) * polls[p];

			/* 1.5 °C beyond the coldest and the warmest of it. */
			run.rule.limits = (struct range){ 24 - 1.5, 29 + 1.5 };
			for (int i = 0; t < 7200; t += polls[p])
				feed(&run, noon + t,
				     29 + door(t, open, back[n % 5]) +
					     noise * noise_bell(n, 4, i++));
			assert_int_equal(run.told, 0);
			doors++;
		}
	print_message("%u doors of 5 degrees: none told\n", doors);
}

/* 5 °C up with a time constant of 4 to 30 min, to rest 3 °C inside the limit. */
static void a_lamp_is_hardly_ever_one(void **state)
{
	(void)state;
	static const double minutes[] = { 4, 8, 15, 30 };

	for (size_t p = 0; p < 2; p++)
		for (size_t m = 0; m < 4; m++) {
			unsigned told = 0;

			for (unsigned seed = 0; seed < 100; seed++) {
				struct run run = run_of(polls[p]);

				run.rule.limits.high = 34 + 3;
				for (int i = 0; i * polls[p] < 3 * 3600; i++) {
					double t = i * polls[p] - 3600 + seed % 10;

					feed(&run, noon + t,
					     (t < 0 ? 29 : 34 - 5 * exp(-t / minutes[m] / 60)) +
						     noise * noise_bell(seed, 6, i));
				}
				told += run.told > 0;
			}
			print_message("lamp of %g min, polls of %g s: told %u of 100 times\n",
				      minutes[m], polls[p], told);
			assert_true(told <= (minutes[m] < 10 ? 20 : 0));
		}
}

/* One reading, or two minutes, of 1.2 °C inside the limit. */
static void a_spike_is_none(void **state)
{
	(void)state;
	for (size_t p = 0; p < 2; p++)
		for (int long_one = 0; long_one < 2; long_one++)
			for (double height = 1; height < 7; height++) {
				struct run run = run_of(polls[p]);
				double width = long_one ? 120 : polls[p];

				run.rule.limits.high = 29 + height + 1.2;
				for (double t = -3600; t < 3600; t += polls[p])
					feed(&run, noon + t,
					     29 + (t >= 0 && t < width ? height : 0) +
						     noise * noise_bell(5, p, (int64_t)t));
				assert_int_equal(run.told, 0);
			}
}

/* A hot spot has no gap for its trend, a humidity none at all. */
static void neither_a_hot_spot_nor_a_humidity(void **state)
{
	(void)state;
	struct run spot = run_of(60), humid = run_of(60), place = run_of(60);

	spot.gap = 0;
	humid.quantity = HUMIDITY;
	for (double t = -3600; t < 1200; t += 60) {
		feed(&spot, noon + t, heating(t, 60));
		feed(&humid, noon + t, heating(t, 60));
		feed(&place, noon + t, heating(t, 60));
	}
	assert_int_equal(spot.told, 0);
	assert_int_equal(humid.told, 0);
	assert_int_equal(place.told, 1);
}

/* The same ramp, 29 min to the limit: judged at noon; not in the
 * changeover, nor before 10 min of it lie behind the changeover. */
static void a_changeover_is_not_judged(void **state)
{
	(void)state;
	const double end = noon - 4 * 3600 + 5400; /* 09:30 */
	const double starts[] = { noon, end - 3000, end - 600 };

	for (size_t i = 0; i < 3; i++) {
		struct run run = run_of(60);
		double t = starts[i] - 3600;

		run.day = &day;
		run.rule.limits.high = 32.9; /* reached 29 min after the start */
		for (; !run.judged.limits.due; t += 60)
			feed(&run, t, 30 + fmax(0, t - starts[i]) / 600);
		assert_int_equal(run.told, i == 1 ? 0 : 1);
		if (i == 0)
			assert_true(run.first < noon + 1200);
		if (i == 2)
			assert_true(run.first > end + 540);
	}
}

/* ---- its life ------------------------------------------------------------------------ */

static void a_minute_confirms_it(void **state)
{
	(void)state;
	for (size_t p = 0; p < 2; p++) {
		struct run run = run_of(polls[p]);
		double begun = 0;

		for (double t = -3600; run.told == 0 && t < 3600; t += polls[p]) {
			feed(&run, noon + t, heating(t, 60));
			if (begun == 0 && run.judged.runaway.side == ABOVE) {
				begun = noon + t;
				assert_false(run.judged.runaway.due);
			}
		}
		assert_near(run.judged.runaway.since, begun, 0);
		assert_near(run.first, begun + 60, 0);
	}
}

/* The second reading beyond the limit: now it is unsafe, and no runaway. */
static void limits_take_over(void **state)
{
	(void)state;
	struct run run = run_of(60);
	double t = -3600;

	for (; !run.judged.limits.due; t += 60) {
		assert_true(t < 3600);
		assert_true(run.told == 0 || run.judged.runaway.due);
		feed(&run, noon + t, heating(t, 60));
	}
	assert_int_equal(run.told, 1);
	assert_int_equal(run.judged.runaway.side, INSIDE);
	assert_near(run.judged.runaway.back_since, noon + t - 60, 0);
	for (; t < 7200; t += 60)
		feed(&run, noon + t, heating(t, 60));
	assert_int_equal(run.told, 1);
}

/* Switched off in time: over when it has led nowhere for the off-delay. */
static void over_after_the_off_delay(void **state)
{
	(void)state;
	struct run run = run_of(60);
	double top = 0, over = 0;

	for (double t = -3600; over == 0 && t < 7200; t += 60) {
		if (run.told && top == 0)
			top = t;
		feed(&run, noon + t, top > 0 ? heating(top, 60) : heating(t, 60));
		if (run.told && run.judged.runaway.side == INSIDE)
			over = t;
	}
	assert_true(over > top);
	assert_true(over - top <= 300 + 600);
	assert_near(run.judged.runaway.back_since, noon + over - 300, 0);
	assert_int_equal(run.told, 1);
}

/* A silence breaks the trend and not the alert; once 8 min are covered again,
 * by bins whose first is 30 s late, it is judged again. */
static void silence_neither_ends_nor_begins_it(void **state)
{
	(void)state;
	struct run run = run_of(60);
	double t = -3600;

	for (; run.told == 0; t += 60)
		feed(&run, noon + t, heating(t, 120));
	const double gap = t + 300;

	for (t = gap; t < gap + 540 + 300; t += 60) {
		feed(&run, noon + t, 32);
		assert_true(run.judged.runaway.due);
	}
	feed(&run, noon + t, 32);
	assert_false(run.judged.runaway.due);
	assert_int_equal(run.told, 1);
}

static void a_moved_clock_changes_nothing(void **state)
{
	(void)state;
	struct run run = run_of(60), moved = run_of(60);
	double by = 0;

	for (double t = -3600; t < 3600; t += 60) {
		if (t == 360 || t == 900) {
			by += t == 360 ? 1e7 : -5000.25;
			judged_shift(&moved.judged, t == 360 ? 1e7 : -5000.25);
		}
		feed(&run, noon + t, heating(t, 60));
		feed(&moved, noon + t + by, heating(t, 60));
		assert_int_equal(run.judged.runaway.due, moved.judged.runaway.due);
		assert_int_equal(run.judged.limits.due, moved.judged.limits.due);
		if (run.judged.runaway.due)
			assert_near(run.judged.runaway.since + by, moved.judged.runaway.since, 1e-3);
	}
	assert_int_equal(run.told, 1);
	assert_near(run.judged.runaway.back_since + by, moved.judged.runaway.back_since, 1e-3);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_stuck_heater_is_told_before_it_is_too_hot),
		cmocka_unit_test(noise_1_5_inside_a_limit_is_none),
		cmocka_unit_test(an_opened_door_is_none),
		cmocka_unit_test(a_lamp_is_hardly_ever_one),
		cmocka_unit_test(a_spike_is_none),
		cmocka_unit_test(neither_a_hot_spot_nor_a_humidity),
		cmocka_unit_test(a_changeover_is_not_judged),
		cmocka_unit_test(a_minute_confirms_it),
		cmocka_unit_test(limits_take_over),
		cmocka_unit_test(over_after_the_off_delay),
		cmocka_unit_test(silence_neither_ends_nor_begins_it),
		cmocka_unit_test(a_moved_clock_changes_nothing),
	};

	setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
