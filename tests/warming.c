/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which of the probes is in the hand.
 */
#include "tests/cm.h"

#include "daemon/warming.h"

static void far_from_the_first(void **state)
{
	(void)state;
	struct warming w = { 0 };

	assert_near(warming_change(&w), 0, 0);
	assert_near(warming_rise(&w), 0, 0);
	warming_take(&w, 100, 24);
	assert_near(warming_change(&w), 0, 0);
	warming_take(&w, 102, 27.2);
	assert_near(warming_change(&w), 3.2, 1e-9);
	assert_near(warming_rise(&w), 3.2, 1e-9);
	/* The first is remembered however long ago it was. */
	for (int t = 104; t < 2000; t += 2)
		warming_take(&w, t, 23);
	assert_near(warming_change(&w), -1, 1e-9);
	assert_near(warming_rise(&w), 0, 0);
}

/* One that wavers, one that drifts with the room: 0.4 °C within three minutes. */
static void not_every_change_is_a_hand(void **state)
{
	(void)state;
	struct warming wavers = { 0 }, drifts = { 0 };

	for (int t = 0; t < 1800; t += 2) {
		warming_take(&wavers, t, 24 + t / 2 % 3 * 0.2);
		warming_take(&drifts, t, 24 + 0.4 * t / 180);
		assert_near(warming_rise(&wavers), 0, 0);
		assert_near(warming_rise(&drifts), 0, 0);
	}
	assert_near(warming_change(&drifts), 4, 0.1);
}

/* The first is warmed and let go, then the second: each is the one in its time,
 * though the first is still the warmer. */
static void one_after_the_other(void **state)
{
	(void)state;
	struct warming a = { 0 }, b = { 0 };
	double warm = 24, other = 24;

	for (int t = 0; t < 240; t += 2) {
		warm += t < 60 ? 0.2 : warm > 24.1 ? -0.02 : 0;
		other += t >= 80 && t < 140 ? 0.1 : 0;
		warming_take(&a, t, warm);
		warming_take(&b, t, other);
		if (t == 58) {
			assert_near(warming_rise(&a), 5.8, 0.21);
			assert_near(warming_rise(&b), 0, 0);
		} else if (t == 138) {
			assert_true(warm > other);
			assert_near(warming_rise(&a), 0, 0);
			assert_near(warming_rise(&b), 3, 0.11);
		}
	}
}

/* A bus that is asked once a minute. */
static void a_slow_bus(void **state)
{
	(void)state;
	struct warming w = { 0 };

	warming_take(&w, 0, 24);
	warming_take(&w, 60, 24.1);
	assert_near(warming_rise(&w), 0, 0);
	warming_take(&w, 120, 25.1);
	assert_near(warming_rise(&w), 1.1, 1e-9);
	warming_take(&w, 400, 25.1); /* all before is too long ago */
	assert_near(warming_rise(&w), 0, 0);
}

/* However fast the readings come, the whole window is kept. */
static void a_fast_bus(void **state)
{
	(void)state;
	struct warming w = { 0 };

	for (int i = 0; i < 100000; i++)
		warming_take(&w, i * 0.01, 24 + i * 0.01 / 180);
	assert_near(warming_rise(&w), 1, 0.03);
	assert_true(w.count <= WARMING_KEPT);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(far_from_the_first), cmocka_unit_test(not_every_change_is_a_hand),
		cmocka_unit_test(one_after_the_other), cmocka_unit_test(a_slow_bus),
		cmocka_unit_test(a_fast_bus),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
