/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Vapour -> the exponential it falls along; see drying_curve.h.
 */
#include "report/drying_curve.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/fit.h"

/* So that each is of its natural size, whatever the drying is like: a response may be 0, and
 * 1 h has the logarithm 0. */
enum { FLOOR, DROP, LOG_SECONDS, ONE_AND_RESPONSE };

static const double HOUR = 3600;                /* s */
static const double MOVES = 0.09;               /* of s, as 1.5 °C are: told from noise */
static const double NO_PART = 4;                /* deviations from the curve */
static const double BESIDE = 2;                 /* the same, of its neighbours */
static const double TO_DEVIATION = 1.4826;      /* of a median distance, when normal */
static const double MOST_TOGETHER = 0.9;        /* of a correlation */
static const double SURELY = 1.5;               /* deviations of one above 0 */
enum { ROUNDS = 3, COARSE = 10, FINER = 7, LEAST_POINTS = 8 };

struct task {
	const struct curve_step *steps;
	size_t count;
	double hours;
	bool moves;             /* the floor follows the temperature */
	double *forcing;        /* g/m³: s - mean of s */
};

/* The curve through the steps' middles, one after another. */
struct tracer {
	double half, whole;     /* what half a step and a whole one leave of anything */
	double left;            /* of the drop */
	double begin;           /* g/m³: s as the air follows it, at the step's begin */
	double followed;        /* the same in its middle */
};

static struct tracer trace(double hours, double time_constant)
{
	double half = exp(-hours / 2 / time_constant);

	return (struct tracer){ half, half * half, half, 0, 0 };
}

static void follow(struct tracer *tracer, double forcing)
{
	tracer->followed = forcing + (tracer->begin - forcing) * tracer->half;
	tracer->begin = forcing + (tracer->begin - forcing) * tracer->whole;
}

static void residuals_of(const void *context, const double *p, double *residuals)
{
	const struct task *task = context;
	struct tracer tracer = trace(task->hours, exp(p[LOG_SECONDS]) / HOUR);
	size_t point = 0;

	for (size_t i = 0; i < task->count; i++) {
		const struct curve_step *step = &task->steps[i];

		if (task->moves)
			follow(&tracer, task->forcing[i]);
		if (step->weight > 0)
			residuals[point++] =
				sqrt(step->weight) *
				(step->vapour - p[FLOOR] - p[DROP] * tracer.left -
				 (task->moves ? (p[ONE_AND_RESPONSE] - 1) * tracer.followed : 0));
		tracer.left *= tracer.whole;
	}
}

/* ---- where to begin ------------------------------------------------------- */

/* Weighted sums of products: of the drop left, of s followed, of the vapour. */
struct sums {
	double n, x, s, y, xx, xs, ss, xy, sy, yy;
};

static struct sums sums_of(const struct task *task, double time_constant)
{
	struct tracer tracer = trace(task->hours, time_constant);
	struct sums sums = { 0 };

	for (size_t i = 0; i < task->count; i++, tracer.left *= tracer.whole) {
		double weight = task->steps[i].weight, y = task->steps[i].vapour;
		double x = tracer.left, s;

		if (task->moves)
			follow(&tracer, task->forcing[i]);
		s = tracer.followed;
		sums.n += weight;
		sums.x += weight * x;
		sums.s += weight * s;
		sums.y += weight * y;
		sums.xx += weight * x * x;
		sums.xs += weight * x * s;
		sums.ss += weight * s * s;
		sums.xy += weight * x * y;
		sums.sy += weight * s * y;
		sums.yy += weight * y * y;
	}
	return sums;
}

/* With a time constant given the rest is linear: solves it, and gives the squares it
 * leaves. */
static double linear(const struct task *task, double time_constant, double *start)
{
	struct sums sums = sums_of(task, time_constant);
	double xx = sums.xx - sums.x * sums.x / sums.n, xs = sums.xs - sums.x * sums.s / sums.n;
	double ss = sums.ss - sums.s * sums.s / sums.n, xy = sums.xy - sums.x * sums.y / sums.n;
	double sy = sums.sy - sums.s * sums.y / sums.n, yy = sums.yy - sums.y * sums.y / sums.n;
	double determinant = task->moves ? xx * ss - xs * xs : xx;
	double response = task->moves ? (sy * xx - xy * xs) / determinant : 0;

	start[DROP] = (task->moves ? xy * ss - sy * xs : xy) / determinant;
	start[FLOOR] = (sums.y - start[DROP] * sums.x - response * sums.s) / sums.n;
	start[LOG_SECONDS] = log(time_constant * HOUR);
	start[ONE_AND_RESPONSE] = 1 + response;
	return yy - start[DROP] * xy - response * sy;
}

/* The best time constant of a coarse search, made finer about it: from there few steps are
 * left. */
static void begin(const struct task *task, double *start)
{
	double shortest = task->hours / 2, longest = 3 * task->hours * (double)task->count;
	double ratio = pow(longest / shortest, 1.0 / COARSE), best = shortest, least = INFINITY;
	double other[FIT_PARAMETERS];

	for (int i = 0; i <= COARSE; i++) {
		double time_constant = shortest * pow(ratio, i);
		double left = linear(task, time_constant, other);

		if (left < least) {
			least = left;
			best = time_constant;
		}
	}
	for (int i = 0; i < FINER; i++) {
		ratio = sqrt(ratio);
		for (int side = -1; side <= 1; side += 2) {
			double time_constant = best * pow(ratio, side);
			double left = linear(task, time_constant, other);

			if (left < least) {
				least = left;
				best = time_constant;
				break;
			}
		}
	}
	linear(task, best, start);
}

/* s less its mean; *moves when that is more than noise. */
static double *forcing_of(const struct curve_step *steps, size_t count, bool *moves)
{
	double *forcing = must_calloc(count, sizeof *forcing), mean = 0;
	double least = INFINITY, most = 0;

	for (size_t i = 0; i < count; i++) {
		least = fmin(least, steps[i].saturated);
		most = fmax(most, steps[i].saturated);
		mean += steps[i].saturated / (double)count;
	}
	for (size_t i = 0; i < count; i++)
		forcing[i] = steps[i].saturated - mean;
	*moves = most - least > MOVES * mean;
	return forcing;
}

/* ---- what is none of it --------------------------------------------------- */

static int by_size(const void *a, const void *b)
{
	double one = *(const double *)a, other = *(const double *)b;

	return (one > other) - (one < other);
}

/* The standard deviation, by the median distance, which what is none of it does not move.
 * Leaves distances sorted. */
static double deviation_of(double *residuals, size_t count)
{
	for (size_t i = 0; i < count; i++)
		residuals[i] = fabs(residuals[i]);
	qsort(residuals, count, sizeof *residuals, by_size);
	return TO_DEVIATION * residuals[count / 2];
}

/* Residuals beside their steps, 0 where there is none. */
static void put_beside(const struct curve_step *steps, size_t count, const double *residuals,
		       double *beside)
{
	for (size_t i = 0, point = 0; i < count; i++)
		beside[i] = steps[i].weight > 0 ? residuals[point++] : 0;
}

/* Marks a step far off and its neighbours on the same side; how many were marked. */
static size_t leave_out(struct curve_step *steps, size_t count, const double *beside,
			double deviation)
{
	size_t left_out = 0, point;

	for (size_t i = 0; i < count; i++) {
		double side = beside[i] < 0 ? -1 : 1;

		if (steps[i].weight <= 0 || fabs(beside[i]) <= NO_PART * deviation)
			continue;
		for (point = i; point > 0 && side * beside[point - 1] > BESIDE * deviation;)
			point--;
		for (; point < count && (point <= i || side * beside[point] > BESIDE * deviation);
		     point++) {
			left_out += steps[point].weight > 0;
			steps[point].weight = 0;
		}
	}
	return left_out;
}

/* ---- how sure it is ------------------------------------------------------- */

/* Correlation of what is `lag` steps apart, corrected for what the parameters take out of it. */
static double correlation(const struct curve_step *steps, size_t count, const double *beside,
			  size_t lag, size_t parameters)
{
	double product = 0, squares = 0, pairs = 0, points = 0;

	for (size_t i = 0; i < count; i++) {
		points += steps[i].weight > 0;
		squares += beside[i] * beside[i];
		if (i < lag || steps[i].weight <= 0 || steps[i - lag].weight <= 0)
			continue;
		product += beside[i] * beside[i - lag];
		pairs++;
	}
	if (pairs <= 0 || squares <= 0)
		return 0;
	return product / pairs / (squares / points) + (double)parameters / points;
}

/* How many times as many steps it takes where residuals hang together: 1 + 2 sum of their
 * correlations (from memory).  Those are taken as r, r q, r q q ..., as of slow air under the
 * noise of a probe.  A correlation that may be chance is none. */
static double together(const struct curve_step *steps, size_t count, const double *beside,
		       double points, size_t parameters)
{
	double r = correlation(steps, count, beside, 1, parameters), q;

	if (r < SURELY / sqrt(points))
		return 1;
	q = fmax(r, correlation(steps, count, beside, 2, parameters) / r);
	return 1 + 2 * fmin(r, MOST_TOGETHER) / (1 - fmin(q, MOST_TOGETHER));
}

static void widen(const struct fit *fit, double wider, double points, size_t parameters,
		  struct drying_curve *out)
{
	out->freedom = fmax(points / wider - (double)parameters, 1);
	out->time_constant_error = out->time_constant * fit->error[LOG_SECONDS] * sqrt(wider);
	out->floor_error = fit->error[FLOOR] * sqrt(wider);
}

static size_t points_of(const struct task *task)
{
	size_t points = 0;

	for (size_t i = 0; i < task->count; i++)
		points += task->steps[i].weight > 0;
	return points;
}

static void note(const struct task *task, const struct fit_problem *problem,
		 const struct fit *fit, const double *beside, struct drying_curve *out)
{
	double points = (double)problem->points;

	out->time_constant = exp(fit->parameter[LOG_SECONDS]) / HOUR;
	out->floor = fit->parameter[FLOOR];
	out->drop = fit->parameter[DROP];
	out->response = task->moves ? fit->parameter[ONE_AND_RESPONSE] - 1 : 0;
	out->residual = sqrt(fit->sum_squares / points);
	out->used = problem->points;
	widen(fit, together(task->steps, task->count, beside, points, problem->parameters),
	      points, problem->parameters, out);
}

bool drying_curve_fit(struct curve_step *steps, size_t count, double hours,
		      struct drying_curve *out)
{
	struct task task = { .steps = steps, .count = count, .hours = hours };
	struct fit_problem problem = { points_of(&task), 3, residuals_of, &task, { 0 } };
	double *residuals = must_calloc(count, sizeof *residuals);
	double *beside = must_calloc(count, sizeof *beside);
	struct fit fit = { 0 };
	bool found = false;

	*out = (struct drying_curve){ 0 };
	task.forcing = forcing_of(steps, count, &task.moves);
	problem.parameters += task.moves;
	for (int round = 0; round < ROUNDS && problem.points >= LEAST_POINTS; round++) {
		size_t left_out;

		begin(&task, problem.start);
		found = fit_least_squares(&problem, &fit);
		if (!found)
			break;
		residuals_of(&task, fit.parameter, residuals);
		put_beside(steps, count, residuals, beside);
		left_out = round + 1 < ROUNDS
				   ? leave_out(steps, count, beside,
					       deviation_of(residuals, problem.points))
				   : 0;
		if (left_out == 0)
			break;
		out->left_out += left_out;
		problem.points -= left_out;
		found = false;
	}
	if (found)
		note(&task, &problem, &fit, beside, out);
	free(task.forcing);
	free(residuals);
	free(beside);
	return found;
}
