/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Episodes and the alerts they call for, with hand-made readings.  The day
 * is at UTC; the rules are invented for the test.
 */
#include "tests/cm.h"

#include <time.h>

#include "daemon/alert.h"
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

struct bench {
	struct judged judged;
	struct daypart_cache cache;
	struct alert alert;
	const struct rule *rule;
	enum quantity quantity;
	char events[64][48];
	double when[64];
	size_t count;
};

/* One reading, and what is told of it. */
static void feed(struct bench *b, double time, double value)
{
	enum event event;

	judge_reading(&b->judged, b->quantity, b->rule, &day, &b->cache, 180, 180,
		      (struct sample){ time, value });
	struct wanted wanted = wanted_of_series(&b->judged, b->quantity);

	while (alert_step(&b->alert, &wanted, time, &event)) {
		assert_true(b->count < 64);
		snprintf(b->events[b->count], sizeof *b->events, "%s %s", event_word(event),
			 condition_word(b->alert.condition));
		b->when[b->count++] = time;
	}
}

static void hold(struct bench *b, double *time, double value, double seconds)
{
	for (double end = *time + seconds; *time < end; *time += 60)
		feed(b, *time, value);
}

static void an_episode_begins_where_the_line_crosses(void **state)
{
	(void)state;
	struct bench b = { .rule = &humidity, .quantity = HUMIDITY };

	feed(&b, noon, 46);
	feed(&b, noon + 60, 43);
	assert_int_equal(b.judged.band.side, BELOW);
	assert_near(b.judged.band.since, noon + 20, 1e-6);
	assert_near(b.judged.band.outside, 40, 1e-6);
	assert_near(b.judged.band.worst, 43, 0);
}

static void told_when_patience_is_used_up_and_not_before(void **state)
{
	(void)state;
	struct bench b = { .rule = &humidity, .quantity = HUMIDITY };
	double t = noon;

	hold(&b, &t, 40, 3600);
	assert_int_equal(b.count, 0);
	feed(&b, noon + 3600, 40);
	assert_int_equal(b.count, 1);
	assert_string_equal(b.events[0], "raised below_band");
	assert_near(b.alert.since, noon, 0);
}

/* Noise around the edge neither restarts the count nor clears the alert. */
static void noise_raises_one_alert(void **state)
{
	(void)state;
	struct bench b = { .rule = &humidity, .quantity = HUMIDITY };

	for (int i = 0; i < 400; i++)
		feed(&b, noon + 60 * i, i % 2 ? 44 : 46);
	assert_int_equal(b.count, 1);
	/* Half of each minute is outside: an hour outside takes two. */
	assert_near(b.when[0], noon + 7200, 61);
}

static void cleared_after_deadband_and_off_delay(void **state)
{
	(void)state;
	struct bench b = { .rule = &humidity, .quantity = HUMIDITY };
	double t = noon;

	hold(&b, &t, 40, 3660);
	hold(&b, &t, 47.9, 1200); /* inside, not by the deadband */
	assert_int_equal(b.count, 1);
	double home = t;

	hold(&b, &t, 48, 600);
	assert_int_equal(b.count, 2);
	assert_string_equal(b.events[1], "cleared below_band");
	/* The line reaches 48 exactly at the first such reading. */
	assert_near(b.when[1], home + 300, 0);
	assert_near(wanted_of_series(&b.judged, HUMIDITY).over, home, 0);
}

static void a_short_return_does_not_clear(void **state)
{
	(void)state;
	struct bench b = { .rule = &humidity, .quantity = HUMIDITY };
	double t = noon;

	hold(&b, &t, 40, 3660);
	hold(&b, &t, 50, 240);
	hold(&b, &t, 40, 600);
	assert_int_equal(b.count, 1);
}

static void two_readings_confirm_a_temperature_beyond_its_limits(void **state)
{
	(void)state;
	struct bench b = { .rule = &temperature, .quantity = TEMPERATURE };

	feed(&b, noon, 30);
	feed(&b, noon + 60, 36.5);
	assert_int_equal(b.count, 0);
	feed(&b, noon + 120, 36.5);
	assert_int_equal(b.count, 1);
	assert_string_equal(b.events[0], "raised above_limits");
	assert_int_equal(b.alert.priority, NOW);
}

static void one_reading_beyond_is_not_enough(void **state)
{
	(void)state;
	struct bench b = { .rule = &temperature, .quantity = TEMPERATURE };

	for (int i = 0; i < 20; i++)
		feed(&b, noon + 60 * i, i % 2 ? 36.5 : 35.9);
	assert_int_equal(b.count, 0);
}

static void a_misting_is_no_emergency(void **state)
{
	(void)state;
	struct bench b = { .rule = &humidity, .quantity = HUMIDITY };
	double t = noon;

	b.judged.band.side = INSIDE;
	hold(&b, &t, 95, 3000);
	assert_int_equal(b.count, 0);
	hold(&b, &t, 95, 4260);
	assert_int_equal(b.count, 2);
	assert_string_equal(b.events[0], "raised above_band");
	assert_string_equal(b.events[1], "worsened above_limits");
	assert_int_equal(b.alert.priority, TODAY);
	assert_near(b.when[1], noon + 7200, 0);
}

static void straying_worsens_once_and_again_after_a_recovery(void **state)
{
	(void)state;
	struct bench b = { .rule = &temperature, .quantity = TEMPERATURE };
	double t = noon;

	hold(&b, &t, 33, 3720);
	hold(&b, &t, 37, 600);
	hold(&b, &t, 33, 900); /* inside the limits again, still too warm */
	hold(&b, &t, 37, 600); /* it has been told a quarter of an hour ago */
	assert_int_equal(b.count, 2);
	hold(&b, &t, 33, 4200); /* for more than an hour, off-delay included */
	hold(&b, &t, 37, 600);
	assert_int_equal(b.count, 3);
	assert_string_equal(b.events[0], "raised above_band");
	assert_string_equal(b.events[1], "worsened above_limits");
	assert_string_equal(b.events[2], "worsened above_limits");
}

static void the_other_side_is_another_matter(void **state)
{
	(void)state;
	struct bench b = { .rule = &humidity, .quantity = HUMIDITY };
	double t = noon;

	hold(&b, &t, 40, 3720);
	hold(&b, &t, 70, 3720);
	assert_int_equal(b.count, 3);
	assert_string_equal(b.events[1], "cleared below_band");
	assert_string_equal(b.events[2], "raised above_band");
	assert_near(b.when[2] - b.when[1], 3600, 61);
}

static void unknown_time_is_not_counted(void **state)
{
	(void)state;
	struct bench b = { .rule = &humidity, .quantity = HUMIDITY };

	feed(&b, noon, 40);
	feed(&b, noon + 60, 40);
	feed(&b, noon + 241, 40); /* more than the longest line later */
	assert_near(b.judged.band.outside, 60, 0);
	assert_near(b.judged.band.since, noon, 0);
	feed(&b, noon + 421, 40); /* exactly as long: joined */
	assert_near(b.judged.band.outside, 240, 0);
}

/* At 20:00 the night's band begins to count beside the day's; at 21:30 the
 * day's is gone and a value that stood still is outside. */
static void the_band_moves_past_a_value(void **state)
{
	(void)state;
	struct bench b = { .rule = &temperature, .quantity = TEMPERATURE };
	double t = noon;

	hold(&b, &t, 30, 9.5 * 3600 + 120);
	assert_int_equal(b.judged.band.side, ABOVE);
	assert_near(b.judged.band.since, noon + 9.5 * 3600, 0);
	assert_near(b.judged.band.outside, 60, 1e-6);
}

static void states_as_people_read_them(void **state)
{
	(void)state;
	struct daypart_cache cache = { 0 };
	const struct rule bare = { 0 };

	assert_int_equal(judge_value(&temperature, &day, &cache, (struct sample){ noon, 31 }),
			 IN_BAND);
	assert_int_equal(judge_value(&temperature, &day, &cache, (struct sample){ noon, 31.1 }),
			 STRAYING);
	assert_int_equal(judge_value(&temperature, &day, &cache, (struct sample){ noon, 36.1 }),
			 UNSAFE);
	assert_int_equal(judge_value(&bare, &day, &cache, (struct sample){ noon, 99 }), UNJUDGED);
}

static void silence_is_graver_when_nobody_watches(void **state)
{
	(void)state;
	struct alert alert = { 0 };
	enum event event;
	struct wanted one = wanted_of_silence(true, true, false, noon, 0);
	struct wanted all = wanted_of_silence(true, true, true, noon, 0);
	struct wanted over = wanted_of_silence(false, false, false, 0, noon + 900);

	assert_true(alert_step(&alert, &one, noon + 900, &event));
	assert_int_equal(event, RAISED);
	assert_int_equal(alert.priority, UPKEEP);
	assert_true(alert_step(&alert, &all, noon + 900, &event));
	assert_int_equal(event, WORSENED);
	assert_false(alert_step(&alert, &all, noon + 900, &event));
	assert_true(alert_step(&alert, &over, noon + 900, &event));
	assert_int_equal(event, CLEARED);
	assert_false(alert_step(&alert, &over, noon + 900, &event));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(an_episode_begins_where_the_line_crosses),
		cmocka_unit_test(told_when_patience_is_used_up_and_not_before),
		cmocka_unit_test(noise_raises_one_alert),
		cmocka_unit_test(cleared_after_deadband_and_off_delay),
		cmocka_unit_test(a_short_return_does_not_clear),
		cmocka_unit_test(two_readings_confirm_a_temperature_beyond_its_limits),
		cmocka_unit_test(one_reading_beyond_is_not_enough),
		cmocka_unit_test(a_misting_is_no_emergency),
		cmocka_unit_test(straying_worsens_once_and_again_after_a_recovery),
		cmocka_unit_test(the_other_side_is_another_matter),
		cmocka_unit_test(unknown_time_is_not_counted),
		cmocka_unit_test(the_band_moves_past_a_value),
		cmocka_unit_test(states_as_people_read_them),
		cmocka_unit_test(silence_is_graver_when_nobody_watches),
	};

	setenv("TZ", "UTC0", 1);
	tzset();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
