/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The law of an enclosure from days of its air: made up by the law itself, a minute at a time,
 * with noise that does not depend on chance.
 */
#include "tests/cm.h"

#include "report/law.h"
#include "tests/made_air.h"

/* The logarithm's distance from the truth, in its own standard errors. */
static double off(double found, double truth, double variance)
{
	return (log(found) - log(truth)) / sqrt(variance);
}

static void assert_law(const struct law_fit *fit, const struct course_law *law, double most)
{
	assert_near(off(fit->law.airing, law->airing, fit->log_covariance[0][0]), 0, most);
	assert_near(off(fit->law.exchange, law->exchange, fit->log_covariance[1][1]), 0, most);
	assert_near(off(fit->law.capacity, law->capacity, fit->log_covariance[2][2]), 0, most);
}

/* Misted once a day, doors opened: found within 2.5 of its own errors. */
static void of_a_misted_enclosure(void **state)
{
	(void)state;
	static const struct course_law laws[] = { { 0.3, 0.4, 350 }, { 1.6, 1.6, 1500 },
						  { 2.0, 0.3, 500 }, { 9, 4.2, 4000 } };

	for (size_t i = 0; i < sizeof laws / sizeof *laws; i++) {
		struct made_air air = { .law = laws[i], .days = 14, .misted = 1, .doors = true,
					.noise = 0.5, .seed = i };
		struct law_fit fit;

		made_air_make(&air);
		assert_true(law_find(&air.inside, &air.room, &air.mistings, &fit));
		assert_law(&fit, &laws[i], 2.5);
		assert_true(fit.log_covariance[0][0] < 0.5 * 0.5);
		assert_near(fit.residual, 0.5, 0.1);
		assert_near(fit.now.activity, air.now.activity, 0.05);
		assert_near(fit.now.vapour, air.now.vapour, 0.3);
		made_air_clear(&air);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(of_a_misted_enclosure),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
