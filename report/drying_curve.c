/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Vapour -> the exponential it falls along; see drying_curve.h.
 */
#include "report/drying_curve.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "report/fit.h"

/* Of the logarithm of seconds steps are in proportion to it, wherever it lies. */
enum { FLOOR, DROP, LOG_SECONDS, RESPONSE };

static const double HOUR = 3600;                /* s */
static const double MOVES = 1.5;                /* °C: a range of which is told from noise */
static const double NO_PART = 4;                /* deviations from the curve */
static const double BESIDE = 2;                 /* the same, of its neighbours */
static const double TO_DEVIATION = 1.4826;      /* of a median distance, when normal */
static const double MOST_TOGETHER = 0.95;       /* of a correlation */
enum { ROUNDS = 3, STARTS = 10, LEAST_POINTS = 8 };

struct task {
	const struct curve_step *steps;
	size_t count;
	double hours;
	bool moves;             /* the floor follows the temperature */
	double *forcing;        /* g/m³: s - mean of s */
};

/* The curve through the steps' middles, one after another. */
struct tracer {
	double left, kept;      /* of the drop; of anything from step to step */
	double followed;        /* g/m³: s as the air follows it */
};

static struct tracer trace(double hours, double time_constant)
{
	return (struct tracer){ exp(-hours / 2 / time_constant), exp(-hours / time_constant), 0 };
}

static void follow(struct tracer *tracer, double forcing)
{
	tracer->followed = forcing + (tracer->followed - forcing) * tracer->kept;
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
				 (task->moves ? p[RESPONSE] * tracer.followed : 0));
		tracer.left *= tracer.kept;
	}
}

/* ---- where to begin ------------------------------------------------------- */

/* With a time constant given the rest is a straight line: what it leaves. */
static double line_of(const struct task *task, double time_constant, double *start)
{
	struct tracer tracer = trace(task->hours, time_constant);
	double n = 0, x = 0, y = 0, xx = 0, xy = 0, yy = 0;

	for (size_t i = 0; i < task->count; i++, tracer.left *= tracer.kept) {
		double weight = task->steps[i].weight, vapour = task->steps[i].vapour;

		if (weight <= 0)
			continue;
		n += weight;
		x += weight * tracer.left;
		y += weight * vapour;
		xx += weight * tracer.left * tracer.left;
		xy += weight * tracer.left * vapour;
		yy += weight * vapour * vapour;
	}
	xx -= x * x / n;
	xy -= x * y / n;
	yy -= y * y / n;
	start[DROP] = xy / xx;
	start[FLOOR] = (y - start[DROP] * x) / n;
	start[LOG_SECONDS] = log(time_constant * HOUR);
	start[RESPONSE] = 0.1;
	return yy - start[DROP] * xy;
}

static void begin(const struct task *task, double *start)
{
	double shortest = task->hours, longest = 3 * task->hours * (double)task->count;
	double ratio = pow(longest / shortest, 1.0 / (STARTS - 1)), least = INFINITY;
	double time_constant = shortest, other[FIT_PARAMETERS];

	for (int i = 0; i < STARTS; i++, time_constant *= ratio) {
		double leaves = line_of(task, time_constant, other);

		if (!(leaves < least))
			continue;
		least = leaves;
		for (int k = 0; k < FIT_PARAMETERS; k++)
			start[k] = other[k];
	}
}

static bool is_moved(const struct curve_step *steps, size_t count)
{
	double least = INFINITY, most = -INFINITY;

	for (size_t i = 0; i < count; i++) {
		least = fmin(least, steps[i].celsius);
		most = fmax(most, steps[i].celsius);
	}
	return most - least > MOVES;
}

static double *forcing_of(const struct curve_step *steps, size_t count)
{
	double *forcing = must_calloc(count, sizeof *forcing), sum = 0;

	for (size_t i = 0; i < count; i++) {
		forcing[i] = air_vapour_density(steps[i].celsius, 100);
		sum += forcing[i];
	}
	for (size_t i = 0; i < count; i++)
		forcing[i] -= sum / (double)count;
	return forcing;
}

/* ---- what is none of it --------------------------------------------------- */

static int by_size(const void *a, const void *b)
{
	double one = *(const double *)a, other = *(const double *)b;

	return (one > other) - (one < other);
}

/* The standard deviation, by the median distance, which what is none of it does not move. */
static double deviation_of(const double *residuals, size_t count, double *scratch)
{
	for (size_t i = 0; i < count; i++)
		scratch[i] = fabs(residuals[i]);
	qsort(scratch, count, sizeof *scratch, by_size);
	return TO_DEVIATION * scratch[count / 2];
}

/* Marks a step far off and its neighbours on the same side; how many were marked. */
static size_t leave_out(struct curve_step *steps, size_t count, const double *residuals,
			size_t points, double *scratch)
{
	double deviation = deviation_of(residuals, points, scratch);
	size_t left_out = 0, point = 0;

	for (size_t i = 0, k = 0; i < count; i++) /* residuals beside their steps */
		scratch[i] = steps[i].weight > 0 ? residuals[k++] / deviation : 0;
	for (size_t i = 0; deviation > 0 && i < count; i++) {
		double side = scratch[i] < 0 ? -1 : 1;

		if (fabs(scratch[i]) < NO_PART)
			continue;
		for (point = i; point > 0 && side * scratch[point - 1] > BESIDE; point--)
			;
		for (; point < count && (point <= i || side * scratch[point] > BESIDE); point++) {
			left_out += steps[point].weight > 0;
			steps[point].weight = 0;
		}
	}
	return left_out;
}

/* ---- how sure it is ------------------------------------------------------- */

/* Correlation of residuals of steps beside each other, corrected for what the parameters take
 * out of it, never below 0. */
static double together(const struct task *task, const double *residuals, const struct fit *fit,
		       size_t parameters)
{
	double product = 0, last = 0, points = fit->freedom + (double)parameters;
	size_t point = 0, pairs = 0;
	bool beside = false;

	for (size_t i = 0; i < task->count; i++) {
		if (task->steps[i].weight <= 0) {
			beside = false;
			continue;
		}
		if (beside) {
			product += last * residuals[point];
			pairs++;
		}
		last = residuals[point++];
		beside = true;
	}
	if (pairs == 0 || fit->sum_squares <= 0)
		return 0;

	double correlation = product / (double)pairs / (fit->sum_squares / points);

	return fmin(fmax(correlation + (double)parameters / points, 0), MOST_TOGETHER);
}

/* Residuals that hang together tell less than so many apart (the effective size of a sample of
 * a first-order process, n (1 - r) / (1 + r); from memory). */
static void widen(const struct task *task, const double *residuals, const struct fit *fit,
		  size_t parameters, struct drying_curve *out)
{
	double r = together(task, residuals, fit, parameters);
	double points = fit->freedom + (double)parameters;
	double wider = (1 + r) / (1 - r);

	out->freedom = fmax(points / wider - (double)parameters, 1);
	out->time_constant_error = out->time_constant * fit->error[LOG_SECONDS] * sqrt(wider);
	out->floor_error = fit->error[FLOOR] * sqrt(wider);
	out->drop_error = fit->error[DROP] * sqrt(wider);
}

static size_t points_of(const struct task *task)
{
	size_t points = 0;

	for (size_t i = 0; i < task->count; i++)
		points += task->steps[i].weight > 0;
	return points;
}

bool drying_curve_fit(struct curve_step *steps, size_t count, double hours,
		      struct drying_curve *out)
{
	struct task task = { steps, count, hours, is_moved(steps, count),
			     forcing_of(steps, count) };
	struct fit_problem problem = { points_of(&task), task.moves ? 4 : 3, residuals_of, &task,
				       { 0 } };
	double *residuals = must_calloc(2 * count, sizeof *residuals);
	struct fit fit = { 0 };
	bool found = false;

	*out = (struct drying_curve){ 0 };
	for (int round = 0; round < ROUNDS && problem.points >= LEAST_POINTS; round++) {
		begin(&task, problem.start);
		found = fit_least_squares(&problem, &fit);
		if (!found)
			break;
		residuals_of(&task, fit.parameter, residuals);

		size_t left_out = round + 1 < ROUNDS ? leave_out(steps, count, residuals,
								 problem.points,
								 residuals + count)
						     : 0;

		if (left_out == 0)
			break;
		out->left_out += left_out;
		problem.points -= left_out;
		found = false;
	}
	if (found) {
		out->time_constant = exp(fit.parameter[LOG_SECONDS]) / HOUR;
		out->floor = fit.parameter[FLOOR];
		out->drop = fit.parameter[DROP];
		out->response = task.moves ? fit.parameter[RESPONSE] : 0;
		out->residual = sqrt(fit.sum_squares / (double)problem.points);
		out->used = problem.points;
		widen(&task, residuals, &fit, problem.parameters, out);
	}
	free(task.forcing);
	free(residuals);
	return found;
}
