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

/* Misted once a day, doors opened: found within 3 of its own errors. */
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
		assert_law(&fit, &laws[i], 3);
		assert_true(fit.log_covariance[0][0] < 0.5 * 0.5);
		assert_near(fit.residual, 0.5, 0.1);
		assert_near(fit.now.activity, air.now.activity, 0.05);
		assert_near(fit.now.vapour, air.now.vapour, 0.3);
		made_air_clear(&air);
	}
}

static struct law_fit fit_of(struct made_air *air)
{
	struct law_fit fit;

	made_air_make(air);
	assert_true(law_find(&air->inside, &air->room, &air->mistings, &fit));
	made_air_clear(air);
	return fit;
}

/* Nobody mists, and a long store empties. */
static void of_one_that_is_never_misted(void **state)
{
	(void)state;
	struct made_air air = { .law = { 0.4, 0.6, 900 }, .days = 14, .doors = true, .noise = 0.5 };
	struct law_fit fit = fit_of(&air);

	assert_law(&fit, &air.law, 2.5);
	assert_near(fit.now.activity, air.now.activity, 0.05);
}

/* A store that never ends, and a box that has none: what does not show is unsure, what shows is
 * not. */
static void of_what_does_not_show(void **state)
{
	(void)state;
	struct made_air endless = { .law = { 0.7, 0.7, INFINITY }, .days = 14, .doors = true,
				    .noise = 0.5 };
	struct made_air closed = { .law = { 1.0 / 60, 1e-4, 700 }, .days = 14, .misted = 1,
				   .noise = 0.5 };
	struct law_fit fit = fit_of(&endless);

	assert_near(fit.law.airing, 0.7, 0.1);
	assert_true(fit.law.capacity > 10000);
	assert_true(fit.log_covariance[2][2] > 0.2 * 0.2);
	fit = fit_of(&closed);
	assert_near(fit.law.airing, 1.0 / 60, 0.005);
	assert_true(fit.log_covariance[1][1] > 0.3 * 0.3);
}

/* Some mistings were not found, and the probe was silent for three days. */
static void of_a_bad_record(void **state)
{
	(void)state;
	struct made_air air = { .law = { 0.3, 0.4, 350 }, .days = 14, .misted = 1, .unseen = 3,
				.gap_from = 7, .gap_days = 3, .noise = 0.5 };
	struct law_fit fit = fit_of(&air);

	assert_law(&fit, &air.law, 3);
	assert_near(fit.now.activity, air.now.activity, 0.05);
	assert_true(fit.hours < 11 * 24);
}

/* Half an hour after a misting its store cannot be seen yet: it is what mistings left before. */
static void just_after_a_misting(void **state)
{
	(void)state;
	struct made_air air = { .law = { 0.3, 0.4, 350 }, .days = 10 + 8.5 / 24, .misted = 1,
				.noise = 0.5 };
	struct law_fit fit = fit_of(&air);

	assert_near(fit.now.activity, MADE_FULL, 0.05);
}

/* The draws scatter as the covariance says, each with its own state. */
static void draws_are_of_the_fit(void **state)
{
	(void)state;
	struct made_air air = { .law = { 0.3, 0.4, 350 }, .days = 14, .misted = 1, .noise = 0.5 };
	struct law_fit fit = fit_of(&air);
	double sum = 0, squares = 0;

	for (size_t i = 0; i < LAW_DRAWS; i++) {
		double by = off(fit.draws[i].law.airing, fit.law.airing, fit.log_covariance[0][0]);

		sum += by;
		squares += by * by;
		assert_near(fit.draws[i].now.activity, fit.now.activity, 0.1);
	}
	assert_near(sum / LAW_DRAWS, 0, 0.6);
	assert_near(sqrt(squares / LAW_DRAWS), 1, 0.35);
}

/* What the room does would be taken for what is moist inside. */
static void without_a_room(void **state)
{
	(void)state;
	struct made_air air = { .law = { 0.3, 0.4, 350 }, .days = 14, .misted = 1, .noise = 0.5 };
	struct law_fit fit;

	made_air_make(&air);
	assert_false(law_find(&air.inside, NULL, &air.mistings, &fit));
	/* It falls silent for all but half a day. */
	for (size_t i = 72; i < air.room.count; i++)
		air.room.list[i].ok = 0;
	assert_false(law_find(&air.inside, &air.room, &air.mistings, &fit));
	made_air_clear(&air);
}

static void needs_a_day(void **state)
{
	(void)state;
	struct made_air air = { .law = { 0.3, 0.4, 350 }, .days = 0.9 };
	struct law_fit fit;

	made_air_make(&air);
	assert_false(law_find(&air.inside, &air.room, &air.mistings, &fit));
	made_air_clear(&air);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(of_a_misted_enclosure),
		cmocka_unit_test(of_one_that_is_never_misted),
		cmocka_unit_test(of_what_does_not_show),
		cmocka_unit_test(of_a_bad_record),
		cmocka_unit_test(just_after_a_misting),
		cmocka_unit_test(draws_are_of_the_fit),
		cmocka_unit_test(without_a_room),
		cmocka_unit_test(needs_a_day),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
