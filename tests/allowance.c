/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The daily allowance: alone, against a second by second count, and through
 * the judge.  "Cumulative" beside "single event" as WHO's prequalified
 * shipping and storage monitors have them.  Rules are invented.
 */
#include "tests/cm.h"

#include <time.h>

#include "contrib/roomsim/noise.h"
#include "daemon/judge.h"

static const struct day day = { .from = 8 * 3600, .to = 20 * 3600, .changeover = 5400 };
static const double noon = 1767614400; /* 2026-01-05T12:00:00Z */

static const struct rule humidity = {
	.has_band = true, .day = { 45, 60 }, .night = { 45, 60 },
	.patience = 2 * 3600, .has_daily = true, .daily = 10 * 3600,
	.deadband = 3, .off_delay = 300,
};

struct run {
	struct rule rule;
	struct judged judged;
	struct daypart_cache cache;
	size_t told, by_allowance;
	double last_told;
	enum side side;
};

static void feed(struct run *run, double time, double value)
{
	bool due = run->judged.band.due;
	const struct episode *band = &run->judged.band;

	judge_reading(&run->judged, HUMIDITY, &run->rule, &day, &run->cache, 600, 0,
		      (struct sample){ time, value });
	if (band->due && !due) {
		run->told++;
		run->by_allowance += band->by_allowance;
		run->last_told = time;
		run->side = band->side;
	}
}

/* Outside for exactly so many s from `from` on, and inside around it. */
static void stray(struct run *run, double from, double seconds, double value)
{
	double edge = value < 45 ? 45 : 60;

	for (double t = 0; t <= seconds; t += 60)
		feed(run, from + t, t > 0 && t < seconds ? value : edge);
}

static void stay(struct run *run, double from, double until)
{
	for (double t = from; t < until; t += 60)
		feed(run, t, 52);
}

/* 100 min outside and 2 h inside, six times: ten hours in all. */
static void six_times_100_min_use_up_10_h_and_never_a_single_2_h(void **state)
{
	(void)state;
	struct run run = { .rule = humidity }, single = { .rule = humidity };

	single.rule.has_daily = false;
	for (int i = 0; i < 6; i++) {
		double from = noon + i * 13200;
		struct run *both[] = { &run, &single };

		for (int k = 0; k < 2; k++) {
			stray(both[k], from, 6000, i % 2 ? 70 : 40);
			stay(both[k], from + 6060, from + 13200);
		}
		assert_int_equal(run.told, i == 5 && run.told);
	}
	assert_int_equal(single.told, 0);
	assert_null(single.judged.allowance);
	/* The sixth ends on the edge, with 10 h used but inside: not told there. */
	assert_int_equal(run.told, 0);
	stray(&run, noon + 6 * 13200, 600, 40);
	assert_int_equal(run.told, 1);
	assert_int_equal(run.by_allowance, 1);
	assert_int_equal(run.side, BELOW);
	assert_near(run.last_told, noon + 6 * 13200 + 60, 0);
	judged_free(&run.judged);
	judged_free(&single.judged);
}

/* A minute more in each: used up within the sixth, at the reading that
 * completes ten hours. */
static void told_at_the_reading_that_uses_it_up_and_once(void **state)
{
	(void)state;
	struct run run = { .rule = humidity };

	for (int i = 0; i < 6; i++) {
		stray(&run, noon + i * 13200, 6060, 40);
		stay(&run, noon + i * 13200 + 6120, noon + (i + 1) * 13200);
	}
	assert_int_equal(run.told, 1);
	assert_near(run.last_told, noon + 5 * 13200 + 36000 - 5 * 6060, 0);
	/* Counted anew: what follows that reading. */
	assert_near(allowance_used(run.judged.allowance, noon + 6 * 13200), 360, 1e-3);
	judged_free(&run.judged);
}

/* 100 min a day for two weeks: never ten hours in any 24. */
static void what_is_older_than_a_day_does_not_count(void **state)
{
	(void)state;
	struct run run = { .rule = humidity };

	for (int i = 0; i < 14; i++) {
		stray(&run, noon + i * 86400, 6000, 40);
		stay(&run, noon + i * 86400 + 6060, noon + (i + 1) * 86400);
	}
	assert_int_equal(run.told, 0);
	assert_near(allowance_used(run.judged.allowance, noon + 14 * 86400), 6000, 300);
	judged_free(&run.judged);
}

/* What patience has told is not told again by the allowance. */
static void a_told_episode_uses_it_without_a_word(void **state)
{
	(void)state;
	struct run run = { .rule = humidity };

	stray(&run, noon, 12 * 3600, 40);
	assert_int_equal(run.told, 1);
	assert_int_equal(run.by_allowance, 0);
	assert_false(run.judged.band.by_allowance);
	assert_near(run.last_told, noon + 7200, 0);
	judged_free(&run.judged);
}

/* The on-delay holds it back too. */
static void the_on_delay_comes_first(void **state)
{
	(void)state;
	struct run run = { .rule = humidity };

	run.rule.daily = 600;
	run.rule.on_delay = 300;
	for (int i = 0; i < 6; i++)
		stray(&run, noon + i * 1200, 240, 40);
	assert_int_equal(run.told, 0);
	stray(&run, noon + 7200, 360, 40);
	assert_int_equal(run.told, 1);
	assert_near(run.last_told, noon + 7500, 0);
	judged_free(&run.judged);
}

/* At any time no less than the true seconds of the last 24 h, and no more than
 * those of the last 24 h and 5 min. */
static void never_less_and_at_most_5_min_more(void **state)
{
	(void)state;
	enum { DAYS = 5, STEP = 10, STEPS = DAYS * 86400 / STEP };
	double *sum = calloc(STEPS + 1, sizeof *sum);
	struct allowance allowance = { 0 };
	double most = 0;

	for (int i = 0; i < STEPS; i++) {
		double out = noise_smooth(7, 0, i / 400.0) > 0.2 ? STEP : 0;
		double now = noon + 70 + (i + 1.0) * STEP;
		int window = 86400 / STEP, from = i + 1 > window ? i + 1 - window : 0;
		int wider = from > 30 ? from - 30 : 0;

		sum[i + 1] = sum[i] + out;
		if (out > 0)
			allowance_add(&allowance, now - STEP / 2.0, out);
		double used = allowance_used(&allowance, now);

		assert_true(used >= sum[i + 1] - sum[from] - 1e-3);
		assert_true(used <= sum[i + 1] - sum[wider] + 1e-3);
		most = fmax(most, used - (sum[i + 1] - sum[from]));
	}
	assert_true(most > 0); /* the error stated is a real one */
	free(sum);
}

/* Through JSON and back, with a clock that moved: as if nothing had happened. */
static void kept_over_a_restart_and_a_moved_clock(void **state)
{
	(void)state;
	static const double moves[] = { 0, 3600, -7.3, 1 / 3.0, 0.123456789, 1234567.891 };

	for (size_t m = 0; m < sizeof moves / sizeof *moves; m++) {
		struct allowance one = { 0 }, two, unmoved;
		double shift = moves[m];

		for (int i = 0; i < 40; i++)
			allowance_add(&one, noon + 1000 * i, 100 + i / 7.0);
		unmoved = one;
		allowance_shift(&one, shift);
		json_t *json = allowance_to_json(&one);
		char *text = json_dumps(json, JSON_REAL_PRECISION(15));
		json_t *again = json_loads(text, 0, NULL);

		assert_true(allowance_from_json(again, &two));
		/* Never just where a bucket ends: that moves by a rounding. */
		for (double t = noon + 40001; t < noon + 140000; t += 130) {
			double used = allowance_used(&unmoved, t);

			assert_near(allowance_used(&one, t + shift), used, 1e-2);
			assert_near(allowance_used(&two, t + shift), used, 1e-2);
		}
		assert_near(allowance_used(&two, noon + 140000 + shift), 0, 0);
		json_decref(json);
		json_decref(again);
		free(text);
	}
}

/* A long line is cut where buckets end, or its first half would be kept longer. */
static void a_long_line_is_cut(void **state)
{
	(void)state;
	struct run run = { .rule = humidity };

	feed(&run, noon, 40);
	feed(&run, noon + 600, 40);
	assert_near(allowance_used(run.judged.allowance, noon + 600), 600, 0);
	assert_near(allowance_used(run.judged.allowance, noon + 86699), 600, 0);
	assert_near(allowance_used(run.judged.allowance, noon + 86700), 300, 0);
	assert_near(allowance_used(run.judged.allowance, noon + 87000), 0, 0);
	judged_free(&run.judged);
}

/* Whatever the clock did to the buckets, a walk along them comes to an end; also
 * at 2^31 s (2038), where a double's steps double and sums begin to be rounded. */
static void buckets_follow_one_another(void **state)
{
	(void)state;
	for (int i = 0; i < 200; i++) {
		struct allowance allowance = { .begins = 2147483648.0 - 3e4 +
							 noise_even(1, 1, i) * 1000 };
		double t = allowance.begins - noise_even(1, 2, i) * 7;

		for (int k = 0; k < 300; k++) {
			double until = allowance_until(&allowance, t);

			assert_true(until > t && until <= t + ALLOWANCE_BUCKET + 1e-6);
			t = until;
		}
	}
}

static void nothing_used_is_nothing_kept(void **state)
{
	(void)state;
	struct allowance allowance = { .begins = noon };

	assert_null(allowance_to_json(NULL));
	assert_null(allowance_to_json(&allowance));
	assert_near(allowance_used(NULL, noon), 0, 0);
}

static void foreign_json_is_refused(void **state)
{
	(void)state;
	static const char *const texts[] = {
		"{}", "[]", "[1]", "[[1767614400, \"a\"]]", "[[1767614400, -5]]",
		"[[1767614400, 900]]", "[[1767614400, 10], [1767614100, 10]]", "[[null, 10]]",
	};

	for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
		struct allowance allowance = { .newest = 3 };
		json_t *json = json_loads(texts[i], 0, NULL);

		assert_non_null(json);
		assert_false(allowance_from_json(json, &allowance));
		assert_near(allowance_used(&allowance, noon), 0, 0);
		json_decref(json);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(six_times_100_min_use_up_10_h_and_never_a_single_2_h),
		cmocka_unit_test(told_at_the_reading_that_uses_it_up_and_once),
		cmocka_unit_test(what_is_older_than_a_day_does_not_count),
		cmocka_unit_test(a_told_episode_uses_it_without_a_word),
		cmocka_unit_test(the_on_delay_comes_first),
		cmocka_unit_test(never_less_and_at_most_5_min_more),
		cmocka_unit_test(kept_over_a_restart_and_a_moved_clock),
		cmocka_unit_test(a_long_line_is_cut),
		cmocka_unit_test(buckets_follow_one_another),
		cmocka_unit_test(nothing_used_is_nothing_kept),
		cmocka_unit_test(foreign_json_is_refused),
	};

	setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
