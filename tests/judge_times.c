/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When an episode begins, is due and is over, to the second: delays, deadband,
 * confirmation, changes of the band, noise.  The day is at UTC; the rules are
 * invented for the test.  On-delay, off-delay and deadband as ISA-18.2 means
 * them (OPC UA part 9, B.1.5, has the same words).
 */
#include "tests/cm.h"

#include <time.h>

#include "contrib/roomsim/noise.h"
#include "daemon/judge.h"

static const struct day day = { .from = 8 * 3600, .to = 20 * 3600, .changeover = 5400 };

/* Noon of an ordinary day: nothing switches for hours. */
static const double noon = 1767614400; /* 2026-01-05T12:00:00Z */

static const struct rule humidity = {
	.has_band = true, .day = { 45, 60 }, .night = { 45, 65 },
	.has_limits = true, .limits = { 25, 85 },
	.patience = 3600, .limits_patience = 7200, .deadband = 3, .off_delay = 300,
};

static const struct rule temperature = {
	.has_band = true, .day = { 27, 31 }, .night = { 23, 29 },
	.has_limits = true, .limits = { 15, 36 },
	.patience = 3600, .limits_patience = 7200, .deadband = 0.5, .off_delay = 300,
};

enum { MOST = 32, WORD = 24 };

/* A series, and what became of its episodes: "band below", "limits over", ... */
struct run {
	struct rule rule;
	enum quantity quantity;
	struct judged judged;
	struct daypart_cache cache;
	char words[MOST][WORD];
	double times[MOST];
	size_t count;
};

static void note(struct run *run, const char *what, const struct episode *before,
		 const struct episode *after, double time)
{
	static const char *const sides[] = { "over", "below", "above" };
	bool over = before->due && after->side == INSIDE;

	if (!over && (!after->due || before->due))
		return;
	assert_true(run->count < MOST);
	snprintf(run->words[run->count], WORD, "%s %s", what, sides[after->side]);
	run->times[run->count++] = time;
}

static void feed(struct run *run, double time, double value)
{
	struct judged before = run->judged;

	judge_reading(&run->judged, run->quantity, &run->rule, &day, &run->cache, 600, 180,
		      (struct sample){ time, value });
	note(run, "band", &before.band, &run->judged.band, time);
	note(run, "limits", &before.limits, &run->judged.limits, time);
}

/* Readings of one value at [*time, *time + seconds). */
static void hold(struct run *run, double *time, double every, double value, double seconds)
{
	for (double end = *time + seconds; *time < end; *time += every)
		feed(run, *time, value);
}

static void expect(const struct run *run, size_t index, const char *word, double time)
{
	assert_true(index < run->count);
	assert_string_equal(run->words[index], word);
	assert_near(run->times[index], time, 1e-6);
}

/* ---- on-delay ------------------------------------------------------------- */

/* Outside for exactly that long, at a reading a second: at `from` and at its
 * end the value lies on the edge, which is inside. */
static void stray(struct run *run, double from, double seconds, double edge, double value)
{
	for (double t = 0; t <= seconds; t++)
		feed(run, from + t, t > 0 && t < seconds ? value : edge);
}

static void out_59_s_of_60_is_none_and_61_s_is_one(void **state)
{
	(void)state;
	static const struct {
		double delay, out;
		size_t told;
		double after;
	} rows[] = {
		{ 60, 59, 0, 0 }, { 60, 60, 0, 0 },   { 60, 61, 1, 60 },
		{ 60, 90, 1, 60 }, { 600, 599, 0, 0 }, { 600, 601, 1, 600 },
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct run run = { .rule = humidity, .quantity = HUMIDITY };

		run.rule.patience = 0;
		run.rule.on_delay = rows[i].delay;
		stray(&run, noon, rows[i].out, 45, 40);
		assert_int_equal(run.count, rows[i].told);
		if (rows[i].told)
			expect(&run, 0, "band below", noon + rows[i].after);
	}
}

/* Humidity and temperature beyond their limits wait for it as well. */
static void limits_wait_for_the_on_delay(void **state)
{
	(void)state;
	for (int q = 0; q < QUANTITIES; q++)
		for (double out = 59; out <= 61; out += 2) {
			struct run run = { .rule = q == HUMIDITY ? humidity : temperature,
					   .quantity = (enum quantity)q };

			run.rule.limits_patience = 0;
			run.rule.on_delay = 60;
			run.rule.has_band = false;
			stray(&run, noon, out, run.rule.limits.high, run.rule.limits.high + 1);
			assert_int_equal(run.count, out > 60);
			if (out > 60)
				expect(&run, 0, "limits above", noon + 60);
		}
}

static void a_return_starts_the_timer_again(void **state)
{
	(void)state;
	struct run run = { .rule = humidity, .quantity = HUMIDITY };

	run.rule.patience = 0;
	run.rule.on_delay = 60;
	for (int i = 0; i < 20; i++) /* each begins on the edge where the last ended */
		stray(&run, noon + 60 * i, 59, 45, 40);
	assert_int_equal(run.count, 0);
	assert_true(run.judged.band.outside > 19 * 58); /* in one episode */
	stray(&run, noon + 1200, 61, 45, 40);
	assert_int_equal(run.count, 1);
	expect(&run, 0, "band below", noon + 1260);
}

static void the_timer_runs_from_the_crossing(void **state)
{
	(void)state;
	struct run run = { .rule = humidity, .quantity = HUMIDITY };
	double t = noon + 10;

	run.rule.patience = 0;
	run.rule.on_delay = 60;
	feed(&run, noon, 46);
	hold(&run, &t, 10, 43.5, 120); /* crosses 45 at noon + 4 */
	expect(&run, 0, "band below", noon + 70);
	assert_near(run.judged.band.out_since, noon + 4, 1e-6);
}

static void unknown_time_starts_the_timer_again(void **state)
{
	(void)state;
	struct run run = { .rule = humidity, .quantity = HUMIDITY };

	run.rule.patience = 0;
	run.rule.on_delay = 700;
	feed(&run, noon, 40);
	feed(&run, noon + 601, 40);
	feed(&run, noon + 1201, 40);
	assert_int_equal(run.count, 0);
	feed(&run, noon + 1301, 40);
	expect(&run, 0, "band below", noon + 1301);
}

/* ---- confirmation and patience ---------------------------------------------- */

static void a_misting_shorter_than_its_patience_is_none(void **state)
{
	(void)state;
	struct run run = { .rule = humidity, .quantity = HUMIDITY };

	run.rule.has_band = false;
	stray(&run, noon, 7199, 85, 95);
	stray(&run, noon + 7200, 600, 80, 70); /* long enough for it to be over */
	assert_int_equal(run.judged.limits.side, INSIDE);
	stray(&run, noon + 8000, 7201, 85, 95);
	assert_int_equal(run.count, 1);
	expect(&run, 0, "limits above", noon + 15200);
}

static void limits_of_a_temperature_need_two_readings(void **state)
{
	(void)state;
	static const struct {
		double values[4];
		size_t told;
		int at;
	} rows[] = {
		{ { 30, 37, 30, 30 }, 0, 0 }, { { 30, 37, 30, 37 }, 0, 0 },
		{ { 30, 37, 37, 30 }, 1, 2 }, { { 30, 14, 37, 30 }, 0, 0 },
		{ { 37, 37, 30, 30 }, 1, 1 }, { { 30, 14, 14, 14 }, 1, 2 },
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct run run = { .rule = temperature, .quantity = TEMPERATURE };

		for (int k = 0; k < 4; k++)
			feed(&run, noon + 60 * k, rows[i].values[k]);
		assert_int_equal(run.count, rows[i].told);
		if (rows[i].told)
			assert_near(run.times[0], noon + 60 * rows[i].at, 0);
	}
}

/* Two tiers on each side, in order and back. */
static void step_through_four_limits(void **state)
{
	(void)state;
	struct run run = { .rule = temperature, .quantity = TEMPERATURE };
	static const double values[] = { 29, 25, 14, 25, 29, 33, 37, 33, 29 };
	double t = noon - 4 * 3600 + 5400; /* 09:30: the day's band alone */

	for (size_t i = 0; i < sizeof values / sizeof *values; i++)
		hold(&run, &t, 60, values[i], 4000);
	t = noon - 4 * 3600 + 5400;
	/* A step takes 67 readings; the line to the next crosses the band's edge
	 * 30 s before it, so the patience is used up at the reading after 3570 s. */
	expect(&run, 0, "band below", t + 4020 + 3600);
	expect(&run, 1, "limits below", t + 2 * 4020 + 60);
	expect(&run, 2, "limits over", t + 3 * 4020 + 300);
	expect(&run, 3, "band over", t + 4 * 4020 + 300);
	expect(&run, 4, "band above", t + 5 * 4020 + 3600);
	expect(&run, 5, "limits above", t + 6 * 4020 + 60);
	expect(&run, 6, "limits over", t + 7 * 4020 + 300);
	expect(&run, 7, "band over", t + 8 * 4020 + 300);
	assert_int_equal(run.count, 8);
}

/* ---- the way back ------------------------------------------------------------- */

/* +-0.3 °C around the edge, a deadband of 0.5: one raise, no clear. */
static void noise_within_the_deadband_is_one_episode(void **state)
{
	(void)state;
	for (unsigned seed = 1; seed <= 20; seed++) {
		struct run run = { .rule = temperature, .quantity = TEMPERATURE };

		run.rule.night = run.rule.day;
		for (int i = 0; i < 1440; i++)
			feed(&run, noon + 60 * i, 31 + 0.3 * noise_even(seed, 0, i));
		assert_int_equal(run.count, 1);
		assert_string_equal(run.words[0], "band above");
	}
}

static void back_in_30_s_of_60_is_still_standing(void **state)
{
	(void)state;
	for (double back = 30; back <= 61; back += 31) {
		struct run run = { .rule = humidity, .quantity = HUMIDITY };
		double t = noon;

		run.rule.off_delay = 60;
		hold(&run, &t, 1, 40, 3601);
		double home = t;

		hold(&run, &t, 1, 48, back);
		hold(&run, &t, 1, 40, 600);
		expect(&run, 0, "band below", noon + 3600);
		assert_int_equal(run.count, back > 60 ? 2 : 1);
		if (back > 60)
			expect(&run, 1, "band over", home + 60);
	}
}

/* 26 °C is too cold by day and right from the switch at 20:00 on; 30 °C is too
 * warm when the changeover ends at 21:30 and right again at 08:00. */
static void the_band_moves_while_outside(void **state)
{
	(void)state;
	struct run cold = { .rule = temperature, .quantity = TEMPERATURE };
	struct run warm = { .rule = temperature, .quantity = TEMPERATURE };
	const double evening = noon + 8 * 3600, morning = noon + 20 * 3600;
	double t = noon + 30;

	hold(&cold, &t, 60, 26, 9 * 3600);
	expect(&cold, 0, "band below", noon + 30 + 3600);
	expect(&cold, 1, "band over", evening + 330); /* back since 20:00 */
	assert_int_equal(cold.count, 2);
	assert_near(cold.judged.band.back_since, evening, 0);
	t = noon + 30;
	hold(&warm, &t, 60, 30, 21 * 3600);
	expect(&warm, 0, "band above", evening + 5400 + 3630);
	expect(&warm, 1, "band over", morning + 330);
	assert_int_equal(warm.count, 2);
}

/* Outside the bands of day and night alike: one episode, and no switch breaks
 * the on-delay's timer. */
static void a_switch_does_not_break_an_episode(void **state)
{
	(void)state;
	struct run run = { .rule = temperature, .quantity = TEMPERATURE };
	double t = noon;

	run.rule.on_delay = 20 * 3600;
	hold(&run, &t, 60, 22, 26 * 3600);
	expect(&run, 0, "band below", noon + 20 * 3600);
	assert_int_equal(run.count, 1);
	assert_near(run.judged.band.since, noon, 0);
	assert_near(run.judged.band.outside, 26 * 3600 - 60, 1e-3);
}

/* ---- noise about a value outside ------------------------------------------------ */

/* s of the straight line from a to b that lie below the edge; written again,
 * from the depths at both ends. */
static double below(double a, double b, double edge, double seconds)
{
	double deep_a = fmax(0, edge - a), deep_b = fmax(0, edge - b);

	return a == b ? (a < edge ? seconds : 0) : seconds * fabs(deep_a - deep_b) / fabs(a - b);
}

/* 1 % below its band in noise of 1.5 %: told at the first reading at which the
 * time outside reaches patience, whatever the noise does. */
static void a_value_1_below_in_noise_of_1_5_is_told(void **state)
{
	(void)state;
	static const double polls[] = { 10, 60 };

	for (size_t p = 0; p < 2; p++) {
		double latest = 0;

		for (unsigned seed = 1; seed <= 100; seed++) {
			struct run run = { .rule = humidity, .quantity = HUMIDITY };
			double before = 0, outside = 0, told = 0;

			run.rule.patience = 6 * 3600;
			for (int i = 0; run.count == 0 && i * polls[p] < 86400; i++) {
				double value = 44 + 1.5 * noise_bell(seed, p, i);

				if (i > 0)
					outside += below(before, value, 45, polls[p]);
				if (told == 0 && outside >= run.rule.patience)
					told = noon + i * polls[p];
				before = value;
				feed(&run, noon + i * polls[p], value);
			}
			assert_int_equal(run.count, 1);
			assert_near(run.judged.band.outside, outside, 1e-3);
			expect(&run, 0, "band below", told);
			latest = fmax(latest, told - noon);
		}
		print_message("polls of %g s: told at the latest after %.0f min of 360 outside\n",
			      polls[p], latest / 60);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(out_59_s_of_60_is_none_and_61_s_is_one),
		cmocka_unit_test(limits_wait_for_the_on_delay),
		cmocka_unit_test(a_return_starts_the_timer_again),
		cmocka_unit_test(the_timer_runs_from_the_crossing),
		cmocka_unit_test(unknown_time_starts_the_timer_again),
		cmocka_unit_test(a_misting_shorter_than_its_patience_is_none),
		cmocka_unit_test(limits_of_a_temperature_need_two_readings),
		cmocka_unit_test(step_through_four_limits),
		cmocka_unit_test(noise_within_the_deadband_is_one_episode),
		cmocka_unit_test(back_in_30_s_of_60_is_still_standing),
		cmocka_unit_test(the_band_moves_while_outside),
		cmocka_unit_test(a_switch_does_not_break_an_episode),
		cmocka_unit_test(a_value_1_below_in_noise_of_1_5_is_told),
	};

	setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
