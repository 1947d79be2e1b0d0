/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/cm.h"

#include "daemon/gate.h"

static const struct correction none = { 0, 1 };

static struct passed take(struct gate *gate, double time, double value)
{
	return gate_take(gate, TEMPERATURE, &none, 60, (struct sample){ time, value });
}

static void ordinary_values_pass(void **state)
{
	(void)state;
	struct gate gate = { 0 };

	assert_int_equal(take(&gate, 0, 25).count, 1);
	struct passed p = take(&gate, 60, 34.9);

	assert_int_equal(p.count, 1);
	assert_near(p.samples[0].value, 34.9, 0);
}

static void implausible_values_never_become_values(void **state)
{
	(void)state;
	struct gate gate = { 0 };
	const double bad[] = { -127, 85.1, NAN, INFINITY, -40.01 };

	for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
		struct passed p = take(&gate, 60 * (double)i, bad[i]);

		assert_int_equal(p.count, 0);
		assert_true(p.failed);
		assert_int_equal(p.cause, IMPLAUSIBLE);
	}
	assert_false(gate.has_last);
}

static void a_lone_spike_is_dropped(void **state)
{
	(void)state;
	struct gate gate = { 0 };

	take(&gate, 0, 25);
	assert_int_equal(take(&gate, 60, 36).count, 0);
	struct passed p = take(&gate, 120, 26);

	assert_int_equal(p.count, 1);
	assert_near(p.samples[0].value, 26, 0);
	assert_true(p.failed);
	assert_int_equal(p.cause, SPIKE);
}

static void a_confirmed_jump_is_real_and_both_count(void **state)
{
	(void)state;
	struct gate gate = { 0 };

	take(&gate, 0, 25);
	take(&gate, 60, 36);
	struct passed p = take(&gate, 120, 37);

	assert_false(p.failed);
	assert_int_equal(p.count, 2);
	assert_near(p.samples[0].time, 60, 0);
	assert_near(p.samples[1].value, 37, 0);
}

static void exactly_ten_degrees_is_no_jump(void **state)
{
	(void)state;
	struct gate gate = { 0 };

	take(&gate, 0, 25);
	assert_int_equal(take(&gate, 60, 35).count, 1);
}

static void three_polls_are_the_bound(void **state)
{
	(void)state;
	struct gate gate = { 0 };

	take(&gate, 0, 25);
	assert_int_equal(take(&gate, 181, 36).count, 1); /* strangers: nothing to compare with */
	take(&gate, 241, 20);
	struct passed p = take(&gate, 362, 36); /* 181 s after 36: too late to witness */

	assert_false(p.failed);
	assert_int_equal(p.samples[0].value, 20);
	assert_true(gate.held_count > 0); /* 36 is far from 20 again */
}

static void a_held_value_is_let_go(void **state)
{
	(void)state;
	struct gate gate = { 0 };

	take(&gate, 0, 25);
	take(&gate, 60, 36);
	assert_int_equal(gate_release(&gate, 60, 180).count, 0);
	struct passed p = gate_release(&gate, 60, 180.5);

	assert_int_equal(p.count, 1);
	assert_near(p.samples[0].time, 60, 0);
	assert_int_equal(gate_release(&gate, 60, 500).count, 0);
}

/* reference: two saturated salts at 25 °C, MgCl2 32.78 % and NaCl 75.29 %
 * (Greenspan 1977, J. Res. NBS 81A, 89-96, table 2), read as 35.1 and 73.0:
 * a reading of 60.0 stands for 60.709 %. */
static void two_point_correction(void **state)
{
	(void)state;
	struct gate gate = { 0 };
	const double slope = (75.29 - 32.78) / (73.0 - 35.1);
	const struct correction salts = { 32.78 - 35.1 * slope, slope };
	struct passed p = gate_take(&gate, HUMIDITY, &salts, 60, (struct sample){ 0, 60 });

	assert_near(p.samples[0].value, 60.709, 0.001);
}

static void a_corrected_humidity_stays_one(void **state)
{
	(void)state;
	struct gate gate = { 0 };
	const struct correction up = { 2, 1 };
	struct passed p = gate_take(&gate, HUMIDITY, &up, 60, (struct sample){ 0, 99.5 });

	assert_near(p.samples[0].value, 100, 0);
}

static void a_probe_that_repeats_itself_for_a_day_is_frozen(void **state)
{
	(void)state;
	struct repeat repeat = { 0 };
	struct reading r = { .has = { true, true }, .value = { 25.1, 50 } };

	for (r.time = 0; r.time < FROZEN_AFTER; r.time += 600)
		assert_false(repeat_take(&repeat, &r));
	assert_true(repeat_take(&repeat, &r));
	r.value[HUMIDITY] = 50.1;
	assert_false(repeat_take(&repeat, &r));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(ordinary_values_pass),
		cmocka_unit_test(implausible_values_never_become_values),
		cmocka_unit_test(a_lone_spike_is_dropped),
		cmocka_unit_test(a_confirmed_jump_is_real_and_both_count),
		cmocka_unit_test(exactly_ten_degrees_is_no_jump),
		cmocka_unit_test(three_polls_are_the_bound),
		cmocka_unit_test(a_held_value_is_let_go),
		cmocka_unit_test(two_point_correction),
		cmocka_unit_test(a_corrected_humidity_stays_one),
		cmocka_unit_test(a_probe_that_repeats_itself_for_a_day_is_frozen),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
