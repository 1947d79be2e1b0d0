/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Nonlinear least squares by GSL; see fit.h.
 */
#include "report/fit.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit_nlinear.h>

#include "conf/memory.h"

/* Certified values to 6 digits and more need steps far below those digits. */
static const double STEP_AT_REST = 1e-8;        /* of each parameter */
static const size_t MOST_ITERATIONS = 200;

/* Where no step makes the residuals less, they are at their least when they are
 * at right angles to every derivative: this much of a right angle's cosine is what
 * differences leave (after MINPACK's gtol; from memory). */
static const double RIGHT_ANGLE = 1e-6;

struct task {
	const struct fit_problem *problem;
	double *residuals;      /* GSL's own vectors may be columns of a matrix */
};

static int residuals_of(const gsl_vector *parameters, void *context, gsl_vector *residuals)
{
	const struct task *task = context;
	double own[FIT_PARAMETERS];

	for (size_t i = 0; i < task->problem->parameters; i++)
		own[i] = gsl_vector_get(parameters, i);
	task->problem->residuals(task->problem->context, own, task->residuals);
	/* What is no number is a step too far: it is taken back, and a shorter one tried. */
	for (size_t i = 0; i < task->problem->points; i++)
		residuals->data[i * residuals->stride] = task->residuals[i];
	return GSL_SUCCESS;
}

static bool is_least(const gsl_multifit_nlinear_workspace *work, const struct fit_problem *problem)
{
	const gsl_vector *residuals = gsl_multifit_nlinear_residual(work);
	gsl_matrix *jacobian = gsl_multifit_nlinear_jac(work);
	double length = gsl_blas_dnrm2(residuals);

	for (size_t i = 0; i < problem->parameters; i++) {
		gsl_vector_view column = gsl_matrix_column(jacobian, i);
		double along;

		gsl_blas_ddot(&column.vector, residuals, &along);
		if (fabs(along) > RIGHT_ANGLE * length * gsl_blas_dnrm2(&column.vector))
			return false;
	}
	return true;
}

/* False when a parameter is not determined. */
static bool take_covariance(gsl_multifit_nlinear_workspace *work, struct fit *out, size_t count)
{
	gsl_matrix *covariance = gsl_matrix_alloc(count, count);
	double variance = out->sum_squares / out->freedom;
	bool determined = gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(work), 0,
						     covariance) == GSL_SUCCESS;

	for (size_t i = 0; i < count; i++) {
		for (size_t j = 0; j < count; j++)
			out->covariance[i][j] = variance * gsl_matrix_get(covariance, i, j);
		determined = determined && gsl_matrix_get(covariance, i, i) > 0 &&
			     isfinite(out->covariance[i][i]);
		out->error[i] = sqrt(out->covariance[i][i]);
	}
	gsl_matrix_free(covariance);
	return determined;
}

static bool come_to_rest(gsl_multifit_nlinear_workspace *work, struct task *task, struct fit *out)
{
	const struct fit_problem *problem = task->problem;
	struct fit fit = { .freedom = (double)(problem->points - problem->parameters) };
	gsl_multifit_nlinear_fdf function = {
		.f = residuals_of, .n = problem->points, .p = problem->parameters,
		.params = task,
	};
	gsl_vector_const_view start =
		gsl_vector_const_view_array(problem->start, problem->parameters);
	int info, status;

	if (gsl_multifit_nlinear_init(&start.vector, &function, work) != GSL_SUCCESS)
		return false;
	/* The gradient's own test depends on the unit of the residuals: it is left out. */
	status = gsl_multifit_nlinear_driver(MOST_ITERATIONS, STEP_AT_REST, 0, 0, NULL, NULL,
					     &info, work);
	if (status != GSL_SUCCESS && !(status == GSL_ENOPROG && is_least(work, problem)))
		return false;
	for (size_t i = 0; i < problem->parameters; i++)
		fit.parameter[i] = gsl_vector_get(gsl_multifit_nlinear_position(work), i);
	gsl_blas_ddot(gsl_multifit_nlinear_residual(work), gsl_multifit_nlinear_residual(work),
		      &fit.sum_squares);
	if (!isfinite(fit.sum_squares) || !take_covariance(work, &fit, problem->parameters))
		return false;
	*out = fit;
	return true;
}

bool fit_least_squares(const struct fit_problem *problem, struct fit *out)
{
	gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
	/* GSL's own handler aborts the program where a return value says it all.  It is one for
	 * the whole process, so it is put back. */
	gsl_error_handler_t *before = gsl_set_error_handler_off();
	struct task task = { problem, must_calloc(problem->points, sizeof *task.residuals) };
	gsl_multifit_nlinear_workspace *work;
	bool rests;

	/* Geodesic acceleration (Transtrum and Sethna 2012; from memory): without it a far
	 * start runs out onto the plateau where an exponential is 0. */
	how.trs = gsl_multifit_nlinear_trs_lmaccel;
	how.fdtype = GSL_MULTIFIT_NLINEAR_CTRDIFF;
	how.h_df = cbrt(GSL_DBL_EPSILON);
	work = gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, problem->points,
					  problem->parameters);
	rests = work && come_to_rest(work, &task, out);
	if (work)
		gsl_multifit_nlinear_free(work);
	gsl_set_error_handler(before);
	free(task.residuals);
	return rests;
}

double fit_t(double inside, double freedom)
{
	/* As above, the handler. */
	gsl_error_handler_t *before = gsl_set_error_handler_off();
	double t = gsl_cdf_tdist_Pinv((1 + inside) / 2, fmax(freedom, 1));

	gsl_set_error_handler(before);
	return t;
}
