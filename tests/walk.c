/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Random walks through valleys whose shape is known.  They walk the same way each time.
 */
#include "tests/cm.h"

#include "report/walk.h"

enum { DRAWS = 4000 };

/* Two parameters of variance 1 and 0.01, the second about `bend` x the square of the first. */
static double valley(const void *context, const double *at)
{
	double across = (at[1] - *(const double *)context * at[0] * at[0]) / 0.1;

	return at[0] * at[0] + across * across;
}

/* A fit at its bottom; its residuals are of twice the unit. */
static const struct fit bottom = {
	.covariance = { { 4, 0 }, { 0, 0.04 } }, .sum_squares = 400, .freedom = 100
};

/* Mean squares over many draws, along the valley and across it. */
static void walk_through(double bend, double *along, double *across)
{
	struct walk walk;

	walk_begin(&walk, &bottom, 2, valley, &bend);
	*along = *across = 0;
	for (int i = 0; i < DRAWS; i++) {
		walk_on(&walk, 6);
		*along += walk.at[0] * walk.at[0] / DRAWS;
		*across += (valley(&bend, walk.at) - walk.at[0] * walk.at[0]) / DRAWS;
	}
}

static void straight_valleys_are_as_wide_as_the_fit_says(void **state)
{
	(void)state;
	double along, across;

	walk_through(0, &along, &across);
	assert_near(along, 1, 0.15);
	assert_near(across, 1, 0.15);
}

/* Drawn from the covariance, they would be 1 + 100 x 3 across it. */
static void bent_valleys_are_followed(void **state)
{
	(void)state;
	double along, across;

	walk_through(1, &along, &across);
	assert_near(along, 1, 0.25);
	assert_near(across, 1, 0.15);
}

static double wall(const void *context, const double *at)
{
	(void)context;
	return at[0] < 0 ? INFINITY : at[0] * at[0] + at[1] * at[1] / 0.01;
}

static void what_cannot_be_is_not_entered(void **state)
{
	(void)state;
	struct walk walk;

	walk_begin(&walk, &bottom, 2, wall, NULL);
	for (int i = 0; i < DRAWS; i++) {
		walk_on(&walk, 1);
		assert_true(walk.at[0] >= 0);
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(straight_valleys_are_as_wide_as_the_fit_says),
		cmocka_unit_test(bent_valleys_are_followed),
		cmocka_unit_test(what_cannot_be_is_not_entered),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
