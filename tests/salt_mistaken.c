/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Salts named wrong: a right probe over another salt is never told to be that wrong, and a probe
 * that is, is believed when two salts tell.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "report/salt_line.h"
#include "report/salt_mistaken.h"

static const double warmths[] = { 15, 22, 30 };
enum { WARMTHS = sizeof warmths / sizeof *warmths };

/* Of a probe that far off over `in`, said to be over `named`. */
static struct salt_reading reading(enum salt in, enum salt named, double celsius, double off)
{
	return (struct salt_reading){ named, celsius, salt_humidity(in, celsius) + off };
}

static enum salt alone(enum salt in, enum salt named, double celsius, double off)
{
	struct salt_reading only = reading(in, named, celsius, off);

	return salt_mistaken(&only, 1, 0);
}

static void each_salt_taken_for_another(void **state)
{
	size_t refused = 0;

	(void)state;
	for (size_t w = 0; w < WARMTHS; w++)
		for (int in = 0; in < SALTS; in++)
			for (int named = 0; named < SALTS; named++) {
				double apart = fabs(salt_humidity((enum salt)in, warmths[w]) -
						    salt_humidity((enum salt)named, warmths[w]));
				enum salt other = alone((enum salt)in, (enum salt)named, warmths[w], 0);

				/* Only potassium's nitrate and sulphate may pass for one another. */
				assert_true(apart > 5 || in == named || in + named == KNO3 + K2SO4);
				assert_int_equal(other, apart > 5 ? in : SALTS);
				refused += other != SALTS;
			}
	assert_int_equal(refused, WARMTHS * (SALTS * (SALTS - 1) - 2));
}

/* A probe of which one would not think ill, over the right salt. */
static void the_salt_named(void **state)
{
	(void)state;
	for (size_t w = 0; w < WARMTHS; w++)
		for (int s = 0; s < SALTS; s++)
			for (double off = -4.9; off < 5; off += 0.7)
				assert_int_equal(alone((enum salt)s, (enum salt)s, warmths[w], off),
						 SALTS);
	/* From 43.2 to 33.0 the middle is 38.1; from 75.4 down it is far. */
	assert_int_equal(alone(MGCL2, MGCL2, 22, 5.2), K2CO3);
	assert_int_equal(alone(NACL, NACL, 22, -9), SALTS);
	assert_int_equal(alone(NACL, NACL, 22, 9), KCL);
}

/* Potassium chloride for sodium's and magnesium nitrate for potassium carbonate: the line through
 * both would be good. */
static void both_of_a_pair(void **state)
{
	struct salt_reading pair[] = { reading(MGNO3, K2CO3, 22, 0.3), reading(KCL, NACL, 22, 0.3) };

	(void)state;
	assert_int_equal(salt_mistaken(pair, 2, 0), MGNO3);
	assert_int_equal(salt_mistaken(pair, 2, 1), KCL);
	/* One of them: only that. */
	pair[0] = reading(K2CO3, K2CO3, 22, 0.3);
	assert_int_equal(salt_mistaken(pair, 2, 0), SALTS);
	assert_int_equal(salt_mistaken(pair, 2, 1), KCL);
}

static void a_probe_that_is_far_off(void **state)
{
	(void)state;
	for (double off = -8; off <= 8; off += 16) {
		struct salt_reading pair[2];

		pair[0] = reading(MGCL2, MGCL2, 22, off);
		assert_true(salt_mistaken(pair, 1, 0) != SALTS);
		/* The salt that is named as the cure is one. */
		enum salt second = salt_that_tells(&pair[0]);

		assert_int_equal(second, off < 0 ? NACL : MGNO3);
		pair[1] = reading(second, second, 22, off);
		assert_true(fabs(salt_humidity(second, 22) - salt_humidity(MGCL2, 22)) >=
			    salt_least_apart);
		assert_int_equal(salt_mistaken(pair, 2, 0), SALTS);
		assert_int_equal(salt_mistaken(pair, 2, 1), SALTS);
		/* Over another salt after all it is found out by the second. */
		pair[0] = reading(off < 0 ? CH3COOK : K2CO3, MGCL2, 22, 0);
		pair[1] = reading(second, second, 22, 0.5);
		assert_int_equal(salt_mistaken(pair, 2, 0), off < 0 ? CH3COOK : K2CO3);
	}
	/* As damp as that none tells. */
	struct salt_reading damp = { MGNO3, 22, 67 };

	assert_int_equal(salt_that_tells(&damp), SALTS);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(each_salt_taken_for_another),
		cmocka_unit_test(the_salt_named),
		cmocka_unit_test(both_of_a_pair),
		cmocka_unit_test(a_probe_that_is_far_off),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
