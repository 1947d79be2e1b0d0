/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The trend of ten minutes, with lines that are known.  The chance it has to
 * stand is in tests/runaway.c.
 */
#include "tests/cm.h"

#include "daemon/trend.h"

static const double begin = 1767614400; /* 2026-01-05T12:00:00Z */
static const struct range limits = { 15, 36 };

/* Readings of a straight line, `slope` in °C/min, for so many s. */
static void ramp(struct trend *trend, double poll, double from, double slope, double seconds)
{
	for (double t = 0; t < seconds; t += poll)
		trend_take(trend, 3 * poll, (struct sample){ begin + t, from + slope * t / 60 });
}

/* A line that arrives after so many min; one standard error of it is believed
 * to be no less than 0.1 °C gives, and two are taken off. */
static void a_ramp_just_under_and_just_over(void **state)
{
	(void)state;
	static const struct {
		double poll, slope, minutes; /* °C/min; from the end of the ramp to the limit */
		int leads;
	} rows[] = {
		{ 10, 0.2, 13, 1 },   { 10, 0.2, 16, 0 },   { 60, 0.2, 12, 1 },
		{ 60, 0.2, 16, 0 },   { 10, -0.5, 14, -1 }, { 10, -0.5, 16, 0 },
		{ 60, -0.5, 13.5, -1 }, { 60, -0.5, 16, 0 }, { 20, 1, 14, 1 },
		{ 20, 1, 16, 0 },     { 100, 0.4, 12, 1 },  { 100, 0.4, 17, 0 },
	};

	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		struct trend trend = { 0 };
		double limit = rows[i].slope > 0 ? limits.high : limits.low;
		double from = limit - rows[i].slope * (rows[i].minutes + 20);

		ramp(&trend, rows[i].poll, from, rows[i].slope, 1200 + rows[i].poll);
		if (trend_leads(&trend, limits) != rows[i].leads)
			fail_msg("row %zu: %d", i, trend_leads(&trend, limits));
	}
}

static void too_little_is_nothing(void **state)
{
	(void)state;
	struct trend trend = { 0 };

	assert_int_equal(trend_leads(&trend, limits), 0);
	ramp(&trend, 60, 33, 0.25, 480);
	assert_false(trend_known(&trend));
	assert_int_equal(trend_leads(&trend, limits), 0);
	trend = (struct trend){ 0 };
	ramp(&trend, 60, 33, 0.25, 600);
	assert_true(trend_known(&trend));
	assert_int_equal(trend_leads(&trend, limits), 1);
	/* A poll in four minutes never makes six bins of ten minutes. */
	trend = (struct trend){ 0 };
	ramp(&trend, 240, 33, 0.05, 2400);
	assert_false(trend_known(&trend));
}

static void a_gap_begins_anew(void **state)
{
	(void)state;
	struct trend trend = { 0 };

	ramp(&trend, 60, 33, 0.2, 600);
	trend_take(&trend, 180, (struct sample){ begin + 540 + 180, 35.4 });
	assert_true(trend_known(&trend));
	trend_take(&trend, 180, (struct sample){ begin + 720 + 181, 35.8 });
	assert_false(trend_known(&trend));
}

static void only_ten_minutes_are_looked_at(void **state)
{
	(void)state;
	static const double polls[] = { 1, 7, 10, 28, 30, 45, 60, 90 };

	for (size_t i = 0; i < sizeof polls / sizeof *polls; i++) {
		struct trend trend = { 0 };

		ramp(&trend, polls[i], 20, 0.01, 5000);
		assert_true(trend_known(&trend));
		double looked = trend.last - trend_begins(&trend);

		assert_true(looked >= 480 && looked <= 600 + 2 * fmax(TREND_BIN, polls[i]));
	}
}

/* Back to where it was within the hour: no new ground.  That is forgotten after
 * an hour and a half, and a clock that is put right changes nothing. */
static void a_way_back_leads_nowhere(void **state)
{
	(void)state;
	static const struct {
		double warm_until;      /* s; 31 °C from then on, and rising from 0 on */
		int leads;
	} rows[] = { { -1200, 0 }, { -3000, 0 }, { -9000, 1 }, { -14400, 1 } };
	static const double moves[] = { 0, 5000.5, -1e6 };

	for (size_t i = 0; i < sizeof rows / sizeof *rows * 3; i++) {
		struct trend trend = { 0 };
		double by = 0;

		for (double t = -14400; t <= 600; t += 30) {
			if (t == -300)
				trend_shift(&trend, by = moves[i % 3]);
			trend_take(&trend, 90, (struct sample){ begin + t + by,
								t < rows[i / 3].warm_until ? 35.5
								: t < 0 ? 31
									: 31 + t / 150 });
		}
		assert_int_equal(trend_leads(&trend, limits), rows[i / 3].leads);
	}
}

static void what_slows_down_is_not_carried_on(void **state)
{
	(void)state;
	struct trend trend = { 0 };

	/* On its way to 35 °C and no farther; its mean slope would pass 36. */
	for (double t = 0; t <= 600; t += 10)
		trend_take(&trend, 30, (struct sample){ begin + t, 35 - 4 * exp(-t / 240) });
	assert_int_equal(trend_leads(&trend, limits), 0);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(a_ramp_just_under_and_just_over),
		cmocka_unit_test(too_little_is_nothing),
		cmocka_unit_test(a_gap_begins_anew),
		cmocka_unit_test(only_ten_minutes_are_looked_at),
		cmocka_unit_test(a_way_back_leads_nowhere),
		cmocka_unit_test(what_slows_down_is_not_carried_on),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
