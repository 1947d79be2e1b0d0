/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Vapour -> the exponential it falls along; see drying_curve.h.
 */
#include "report/drying_curve.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/fit.h"
#include "report/spread.h"

/* So that each is of its natural size, whatever the drying is like: a response may be 0, and
 * 1 h has the logarithm 0.  Jumps follow. */
enum { FLOOR, DROP, LOG_SECONDS, ONE_AND_RESPONSE };

static const double HOUR = 3600;                /* s */
static const double MOVES = 0.06;               /* of s, as 1 °C is: told from noise */
static const double SHARP = 7;                  /* deviations: no chance, but a jump */
static const double TO_DEVIATION = 1.4826;      /* of a median distance, when normal */
static const double MOST_TOGETHER = 0.9;        /* of a correlation */
static const double SURELY = 1.5;               /* deviations of one above 0 */
enum { JUMPS = 4, MOST_LINEAR = 3 + JUMPS, COARSE = 10, FINER = 7, LEAST_POINTS = 8 };

struct task {
	struct curve_step *steps;
	size_t count;
	double hours;
	bool moves;             /* the floor follows the temperature */
	double *forcing;        /* g/m³: s - mean of s */
	size_t jump[JUMPS];     /* the step behind each */
	size_t jumps;
};

/* What the curve is made of, in the middle of one step after another: the floor's 1, what is
 * left of the drop, s as the air follows it (when it moves), what is left of each jump. */
struct tracer {
	double half, whole;     /* what half a step and a whole one leave of anything */
	double begin;           /* g/m³: s as the air follows it, at the step's begin */
	double part[MOST_LINEAR];
	size_t parts;
};

static struct tracer trace(const struct task *task, double time_constant)
{
	double half = exp(-task->hours / 2 / time_constant);

	return (struct tracer){ half, half * half, 0, { 1, 1 / half },
				2 + (size_t)task->moves + task->jumps };
}

static void go_on(struct tracer *tracer, const struct task *task, size_t i)
{
	size_t first = 2 + (size_t)task->moves;

	tracer->part[1] *= tracer->whole;
	if (task->moves) {
		tracer->part[2] = task->forcing[i] +
				  (tracer->begin - task->forcing[i]) * tracer->half;
		tracer->begin = task->forcing[i] +
				(tracer->begin - task->forcing[i]) * tracer->whole;
	}
	for (size_t k = 0; k < task->jumps; k++)
		tracer->part[first + k] = i == task->jump[k] ? tracer->half
							     : tracer->part[first + k] *
								       tracer->whole;
}

/* The factors of the parts, from the parameters. */
static void factors_of(const struct task *task, const double *p, double *factors)
{
	size_t count = 0;

	factors[count++] = p[FLOOR];
	factors[count++] = p[DROP];
	if (task->moves)
		factors[count++] = p[ONE_AND_RESPONSE] - 1;
	for (size_t k = 0; k < task->jumps; k++)
		factors[count++] = p[LOG_SECONDS + 1 + task->moves + k];
}

static void residuals_of(const void *context, const double *p, double *residuals)
{
	const struct task *task = context;
	struct tracer tracer = trace(task, exp(p[LOG_SECONDS]) / HOUR);
	double factors[MOST_LINEAR];
	size_t point = 0;

	factors_of(task, p, factors);
	for (size_t i = 0; i < task->count; i++) {
		const struct curve_step *step = &task->steps[i];
		double left = step->vapour;

		go_on(&tracer, task, i);
		if (step->weight <= 0)
			continue;
		for (size_t k = 0; k < tracer.parts; k++)
			left -= factors[k] * tracer.part[k];
		residuals[point++] = sqrt(step->weight) * left;
	}
}

/* ---- where to begin ------------------------------------------------------- */

/* The normal equations of the parts, the vapour behind them. */
struct normal {
	double sums[MOST_LINEAR][MOST_LINEAR + 1];
	double squares;         /* of the vapour less its floor */
};

static void add_up(const struct task *task, double time_constant, struct normal *normal)
{
	struct tracer tracer = trace(task, time_constant);
	double about = task->steps[task->count - 1].vapour;

	*normal = (struct normal){ 0 };
	for (size_t i = 0; i < task->count; i++) {
		double weight = task->steps[i].weight, vapour = task->steps[i].vapour - about;

		go_on(&tracer, task, i);
		if (weight <= 0)
			continue;
		for (size_t k = 0; k < tracer.parts; k++) {
			double weighted = weight * tracer.part[k];

			for (size_t l = k; l < tracer.parts; l++)
				normal->sums[k][l] += weighted * tracer.part[l];
			normal->sums[k][MOST_LINEAR] += weighted * vapour;
		}
		normal->squares += weight * vapour * vapour;
	}
}

/* With a time constant given the rest is linear: solves it by elimination, and gives the squares
 * it leaves. */
static double linear(const struct task *task, double time_constant, double *p)
{
	struct normal normal;
	size_t count = 2 + (size_t)task->moves + task->jumps;
	double factors[MOST_LINEAR] = { 0 }, left;

	add_up(task, time_constant, &normal);
	left = normal.squares;
	for (size_t k = 0; k < count; k++) {
		double *row = normal.sums[k];

		left -= row[MOST_LINEAR] * row[MOST_LINEAR] / row[k];
		for (size_t l = k + 1; l < count; l++) {
			double share = row[l] / row[k];

			for (size_t m = l; m < count; m++)
				normal.sums[l][m] -= share * row[m];
			normal.sums[l][MOST_LINEAR] -= share * row[MOST_LINEAR];
		}
	}
	for (size_t k = count; k-- > 0;) {
		factors[k] = normal.sums[k][MOST_LINEAR];
		for (size_t l = k + 1; l < count; l++)
			factors[k] -= normal.sums[k][l] * factors[l];
		factors[k] /= normal.sums[k][k];
	}
	p[FLOOR] = factors[0] + task->steps[task->count - 1].vapour;
	p[DROP] = factors[1];
	p[LOG_SECONDS] = log(time_constant * HOUR);
	if (task->moves)
		p[ONE_AND_RESPONSE] = 1 + factors[2];
	for (size_t k = 0; k < task->jumps; k++)
		p[LOG_SECONDS + 1 + task->moves + k] = factors[2 + task->moves + k];
	return left;
}

/* Nearer to the best time constant, by steps of a ratio that shrinks. */
static double refine(const struct task *task, double best, double ratio, double least)
{
	double p[FIT_PARAMETERS];

	for (int i = 0; i < FINER; i++) {
		ratio = sqrt(ratio);
		for (int side = -1; side <= 1; side += 2) {
			double time_constant = best * pow(ratio, side);
			double left = linear(task, time_constant, p);

			if (left < least) {
				least = left;
				best = time_constant;
				break;
			}
		}
	}
	return best;
}

/* The best time constant of a coarse search, made finer: from there few steps are left. */
static double search(const struct task *task)
{
	double shortest = task->hours / 2, longest = 3 * task->hours * (double)task->count;
	double ratio = pow(longest / shortest, 1.0 / COARSE), best = shortest, least = INFINITY;
	double p[FIT_PARAMETERS];

	for (int i = 0; i <= COARSE; i++) {
		double time_constant = shortest * pow(ratio, i);
		double left = linear(task, time_constant, p);

		if (left < least) {
			least = left;
			best = time_constant;
		}
	}
	return refine(task, best, ratio, least);
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

/* The standard deviation of what is never the same from step to step, by the median distance of
 * neighbours, which neither jumps nor a curve that does not quite fit move. */
static double deviation_of(double *residuals, size_t count)
{
	for (size_t i = 0; i + 1 < count; i++)
		residuals[i] = fabs(residuals[i + 1] - residuals[i]);
	spread_sort(residuals, count - 1);
	return TO_DEVIATION * residuals[(count - 1) / 2] / sqrt(2);
}

/* Residuals beside their steps, 0 where there is none. */
static void put_beside(const struct curve_step *steps, size_t count, const double *residuals,
		       double *beside)
{
	for (size_t i = 0, point = 0; i < count; i++)
		beside[i] = steps[i].weight > 0 ? residuals[point++] : 0;
}

/* The sharpest jump at a step whose two neighbours on each side are used: an open door, a
 * hand that sprays a little.  The step itself is left out, and the jump is behind it.  False
 * when none is sharp. */
static bool find_jump(struct task *task, const double *beside, double deviation)
{
	double sharpest = SHARP * deviation;
	size_t at = 0;

	for (size_t i = 2; i + 2 < task->count; i++) {
		double jump = fabs(beside[i + 1] + beside[i + 2] - beside[i - 2] -
				   beside[i - 1]) / 2;

		if (jump <= sharpest || task->steps[i - 2].weight <= 0 ||
		    task->steps[i - 1].weight <= 0 || task->steps[i + 1].weight <= 0 ||
		    task->steps[i + 2].weight <= 0)
			continue;
		sharpest = jump;
		at = i;
	}
	if (at == 0 || task->jumps == JUMPS)
		return false;
	task->steps[at].weight = 0;
	task->jump[task->jumps++] = at + 1;
	return true;
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

static void note(const struct task *task, const struct fit *fit, size_t parameters,
		 const double *beside, struct drying_curve *out)
{
	double points = fit->freedom + (double)parameters;

	out->time_constant = exp(fit->parameter[LOG_SECONDS]) / HOUR;
	out->floor = fit->parameter[FLOOR];
	out->drop = fit->parameter[DROP];
	widen(fit, together(task->steps, task->count, beside, points, parameters), points,
	      parameters, out);
}

/* Finds the jumps one after another, and where to begin. */
static void prepare(struct task *task, double *start, double *residuals, double *beside)
{
	double time_constant = search(task);

	for (;;) {
		size_t points = points_of(task);

		linear(task, time_constant, start);
		residuals_of(task, start, residuals);
		put_beside(task->steps, task->count, residuals, beside);
		if (!find_jump(task, beside, deviation_of(residuals, points)))
			return;
		time_constant = search(task);
	}
}

bool drying_curve_fit(struct curve_step *steps, size_t count, double hours,
		      struct drying_curve *out)
{
	struct task task = { .steps = steps, .count = count, .hours = hours };
	struct fit_problem problem = { .residuals = residuals_of, .context = &task };
	double *residuals, *beside;
	struct fit fit;
	bool found;

	*out = (struct drying_curve){ 0 };
	if (points_of(&task) < LEAST_POINTS)
		return false;
	residuals = must_calloc(count, sizeof *residuals);
	beside = must_calloc(count, sizeof *beside);
	task.forcing = forcing_of(steps, count, &task.moves);
	prepare(&task, problem.start, residuals, beside);
	problem.points = points_of(&task);
	problem.parameters = 3 + (size_t)task.moves + task.jumps;
	found = problem.points > problem.parameters && fit_least_squares(&problem, &fit);
	if (found) {
		residuals_of(&task, fit.parameter, residuals);
		put_beside(steps, count, residuals, beside);
		note(&task, &fit, problem.parameters, beside, out);
	}
	free(task.forcing);
	free(residuals);
	free(beside);
	return found;
}
