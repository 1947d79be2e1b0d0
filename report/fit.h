/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Nonlinear least squares, with what is known of its result.  The one file
 * that knows GSL.
 */
#ifndef WARMSIDE_REPORT_FIT_H
#define WARMSIDE_REPORT_FIT_H

#include <stdbool.h>
#include <stddef.h>

enum { FIT_PARAMETERS = 8 }; /* at most */

/* Fills in what is left of each point: (observed - model) x the root of its weight. */
typedef void fit_residuals(const void *context, const double *parameters, double *residuals);

struct fit_problem {
	size_t points;          /* > parameters */
	size_t parameters;      /* 1..FIT_PARAMETERS */
	fit_residuals *residuals;
	const void *context;
	double start[FIT_PARAMETERS]; /* each of its natural size: steps are in proportion to it */
};

struct fit {
	double parameter[FIT_PARAMETERS];
	double error[FIT_PARAMETERS]; /* standard errors: s times the root of the covariance */
	double covariance[FIT_PARAMETERS][FIT_PARAMETERS]; /* of the parameters, s² included */
	double sum_squares;     /* of the residuals */
	double freedom;         /* points - parameters */
};

/* Levenberg-Marquardt, with derivatives by centred differences.  False when it does not come
 * to rest; then out is not filled in.  Errors hold for residuals that do not hang
 * together. */
bool fit_least_squares(const struct fit_problem *problem, struct fit *out);

/* The value that Student's t with so many degrees of freedom (of less than 1 as of 1)
 * exceeds with probability (1 - inside) / 2: an 80 % interval is an estimate ± this of
 * 0.8 times its error. */
double fit_t(double inside, double freedom);

#endif
