/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Fits with certified results, from the statistical reference data sets of NIST
 * (StRD, nonlinear regression), and Student's t against the printed table.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "report/fit.h"

struct data {
	size_t count;
	double x[16], y[16];
};

/* Both sets: y = b1 (1 - exp(-b2 x)). */
static void rise(const void *context, const double *b, double *residuals)
{
	const struct data *data = context;

	for (size_t i = 0; i < data->count; i++)
		residuals[i] = data->y[i] - b[0] * (1 - exp(-b[1] * data->x[i]));
}

static double digits(double got, double certified)
{
	return fmin(-log10(fabs(got - certified) / fabs(certified)), 16);
}

struct certified {
	double parameter[2], deviation[2], sum_squares;
};

static void assert_certified(const char *name, const struct data *data, const double start[2],
			     const struct certified *certified)
{
	struct fit_problem problem = { data->count, 2, rise, data, { start[0], start[1] } };
	struct fit fit;
	double least[2] = { 16, 16 };

	assert_true(fit_least_squares(&problem, &fit));
	for (int i = 0; i < 2; i++) {
		least[0] = fmin(least[0], digits(fit.parameter[i], certified->parameter[i]));
		least[1] = fmin(least[1], digits(fit.error[i], certified->deviation[i]));
		assert_near(fit.covariance[i][i], fit.error[i] * fit.error[i], 1e-12);
	}
	printf("%s from %g, %g: parameters to %.1f digits, standard deviations to %.1f, "
	       "sum of squares to %.1f\n",
	       name, start[0], start[1], least[0], least[1],
	       digits(fit.sum_squares, certified->sum_squares));
	assert_true(least[0] >= 6);
	assert_true(least[1] >= 4);
	assert_true(digits(fit.sum_squares, certified->sum_squares) >= 6);
	assert_near(fit.freedom, (double)data->count - 2, 0);
}

/* Data, certified values and deviations as quoted from NIST's file in a public
 * repository; both starts from memory of that file. */
static void misra1a(void **state)
{
	static const struct data data = {
		14,
		{ 77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8,
		  593.1, 689.1, 760.0 },
		{ 10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01,
		  66.40, 75.47, 81.78 },
	};
	static const struct certified certified = {
		{ 2.3894212918e+02, 5.5015643181e-04 },
		{ 2.7070075241e+00, 7.2668688436e-06 },
		1.2455138894e-01,
	};

	(void)state;
	assert_certified("Misra1a", &data, (double[]){ 500, 0.0001 }, &certified);
	assert_certified("Misra1a", &data, (double[]){ 250, 0.0005 }, &certified);
}

/* All of it from memory of NIST's file.  That the values go together is shown:
 * the sum of squares belongs to data and parameters, and the deviations agree with
 * the covariance reckoned apart from this in Python, with exact derivatives. */
static void boxbod(void **state)
{
	static const struct data data = {
		6, { 1, 2, 3, 5, 7, 10 }, { 109, 149, 149, 191, 213, 224 }
	};
	static const struct certified certified = {
		{ 2.1380940889e+02, 5.4723748542e-01 },
		{ 1.2354515176e+01, 1.0455993237e-01 },
		1.1680088766e+03,
	};

	(void)state;
	assert_certified("BoxBOD", &data, (double[]){ 1, 1 }, &certified);
	assert_certified("BoxBOD", &data, (double[]){ 100, 0.75 }, &certified);
}

static void what_data_do_not_determine_is_no_fit(void **state)
{
	/* All at x = 0, where the model is 0 whatever the parameters are. */
	static const struct data none = { 4, { 0, 0, 0, 0 }, { 1, 2, 3, 4 } };
	struct fit_problem problem = { 4, 2, rise, &none, { 1, 1 } };
	struct fit fit = { .freedom = -1 };

	(void)state;
	assert_false(fit_least_squares(&problem, &fit));
	assert_near(fit.freedom, -1, 0);
}

static void nowhere(const void *context, const double *b, double *residuals)
{
	(void)context;
	for (int i = 0; i < 4; i++)
		residuals[i] = b[0] / 0.0 - b[0] / 0.0;
}

static void no_number_is_no_fit(void **state)
{
	struct fit_problem problem = { 4, 1, nowhere, NULL, { 1 } };
	struct fit fit;

	(void)state;
	assert_false(fit_least_squares(&problem, &fit));
}

/* Points on the curve itself: nothing is left, and no step can make it less. */
static void an_exact_curve_is_found(void **state)
{
	struct data data = { .count = 16 };
	struct fit_problem problem = { 16, 2, rise, &data, { 10, 1 } };
	struct fit fit;

	(void)state;
	for (size_t i = 0; i < data.count; i++) {
		data.x[i] = (double)i / 2;
		data.y[i] = 20 * (1 - exp(-0.4 * data.x[i]));
	}
	assert_true(fit_least_squares(&problem, &fit));
	assert_near(fit.parameter[0], 20, 1e-9);
	assert_near(fit.parameter[1], 0.4, 1e-9);
	assert_near(fit.error[0], 0, 1e-6);
}

/* Tables of Student's t print the quantile 0.90 as 1.476 (5), 1.372 (10), 1.310 (30),
 * 1.282 (infinite), and 0.975 as 2.228 (10); from memory. */
static void student_t(void **state)
{
	(void)state;
	assert_near(fit_t(0.8, 5), 1.476, 0.0005);
	assert_near(fit_t(0.8, 10), 1.372, 0.0005);
	assert_near(fit_t(0.8, 30), 1.310, 0.0005);
	assert_near(fit_t(0.8, 1e6), 1.282, 0.0005);
	assert_near(fit_t(0.95, 10), 2.228, 0.0005);
	/* Of less than 1 GSL finds none, and ends the program. */
	assert_near(fit_t(0.8, 1), 3.078, 0.0005);
	assert_near(fit_t(0.8, 1e-5), 3.078, 0.0005);
	assert_true(fit_t(0.8, 7.5) < fit_t(0.8, 7) && fit_t(0.8, 7.5) > fit_t(0.8, 8));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(misra1a),
		cmocka_unit_test(boxbod),
		cmocka_unit_test(what_data_do_not_determine_is_no_fit),
		cmocka_unit_test(no_number_is_no_fit),
		cmocka_unit_test(an_exact_curve_is_found),
		cmocka_unit_test(student_t),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
