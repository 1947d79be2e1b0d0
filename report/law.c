/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Days of air -> what an enclosure is like; see law.h.
 *
 * The window falls into stretches: a misting, or half a day of which nothing is known, ends
 * one, and so does LONGEST, since no store is as simple as the law's.  Three numbers are common
 * to all, the logarithms of airing, exchange and capacity, found by least squares; each stretch
 * has its own store to begin with (an activity a).  The course of the vapour is linear in that
 * a, so for given numbers its best value needs no search: the course is reckoned with an
 * empty store and with the answer to a full one alone.  The air begins from what is measured,
 * at the beginning of a stretch and anew after each sudden fall (a door).
 *
 * What is left over is in % of relative humidity.  It hangs together for hours, so errors are
 * made larger by its own autocorrelation; what stands far out is left aside in the second of two
 * passes.  A closed box that dries as one slow exponential, or one that is never misted, does not
 * show all three numbers.  So each has a weak prior; its figures are invented, wide enough for
 * a tub and a screen cage alike, and decide only what the air does not.
 */
#include "report/law.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/law_air.h"
#include "report/spread.h"

enum { LAW = 3 };

static const double PRIOR_MEAN[LAW] = { 0.7, 0.7, 700 };  /* 1/h, 1/h, g/m³ */
static const double PRIOR_SPREAD[LAW] = { 1.5, 1.5, 1.5 };  /* of the logarithm */
static const double AWAY = 10;
static const double FAR_OUT = 4;                /* times the usual residual */
static const double MEMORY = 12;                /* h over which residuals may hang together */
static const double QUIET = 0.1;                /* %: no probe is better than that */

/* ---- the course ------------------------------------------------------------ */

/* What a law makes of one stretch: the course with an empty store, and what a full one
 * would add. */
struct course {
	struct course_state empty, full;
};

static struct course_around between(const struct moment *one, const struct moment *next)
{
	return (struct course_around){ (one->saturated + next->saturated) / 2,
				       (one->room + next->room) / 2 };
}

static void go_on(const struct course_law *law, const struct moment *moment, double hours,
		  struct course *course)
{
	struct course_around around = between(moment - 1, moment);
	struct course_around dry = { around.saturated, 0 };

	course->empty = course_step(law, course->empty, &around, hours);
	course->full = course_step(law, course->full, &dry, hours);
}

/* One stretch after a law. */
struct stretch {
	size_t from, to;        /* moments */
	double store;           /* the best a at its beginning, 0..1 */
	double information;     /* on it: 1 / (standard error)², were it alone unsure */
	struct course end;      /* at the last moment */
};

/* From the moment at which a stretch begins; fills in what is left at each moment of it. */
static struct stretch stretch_from(const struct law_air *air, size_t from,
				   const struct course_law *law, double *left, double *answer)
{
	struct stretch stretch = { .from = from };
	struct course course = { { 0, 0 }, { 0, 1 } };
	double both = 0, square = 0;
	size_t i = from;

	for (; i < air->count && (i == from || air->list[i].begins != STORE); i++) {
		const struct moment *moment = &air->list[i];

		if (i > from)
			go_on(law, moment, air->hours, &course);
		if (moment->begins != NOTHING) {
			course.empty.vapour = moment->vapour;
			course.full.vapour = 0;
		}
		left[i] = answer[i] = 0;
		if (!moment->looked_at)
			continue;
		left[i] = moment->humidity - 100 * course.empty.vapour / moment->saturated;
		answer[i] = 100 * course.full.vapour / moment->saturated;
		both += left[i] * answer[i];
		square += answer[i] * answer[i];
	}
	stretch.to = i;
	stretch.end = course;
	stretch.store = square > 0 ? fmin(fmax(both / square, 0), 1) : 0;
	stretch.information = square / (air->unit * air->unit);
	for (size_t k = from; k < i; k++)
		left[k] = (left[k] - stretch.store * answer[k]) / air->unit;
	return stretch;
}

/* The parameters are distances from the priors' means in their spreads, and AWAY, so that
 * none is near 0, where steps in proportion to it would be too small. */
static double log_of(const double *parameters, int k)
{
	return log(PRIOR_MEAN[k]) + PRIOR_SPREAD[k] * (parameters[k] - AWAY);
}

static struct course_law law_of(const double *parameters)
{
	return (struct course_law){ exp(log_of(parameters, 0)), exp(log_of(parameters, 1)),
				    exp(log_of(parameters, 2)) };
}

/* Also what is left of the priors, behind that of the moments. */
static void residuals(const void *context, const double *parameters, double *left)
{
	const struct law_air *air = context;
	double *answer = must_calloc(air->count, sizeof *answer);
	struct course_law law = law_of(parameters);
	size_t i = 0;

	while (i < air->count)
		if (air->list[i].begins == STORE)
			i = stretch_from(air, i, &law, left, answer).to;
		else
			left[i++] = 0; /* before the first */
	for (int k = 0; k < LAW; k++)
		left[air->count + (size_t)k] = parameters[k] - AWAY;
	free(answer);
}

/* ---- the state now --------------------------------------------------------- */

/* What mistings leave in the store: of the stretches before the last one. */
struct habit {
	size_t count;
	double sum, squares;
};

struct ending {
	struct course_state now;
	double error;           /* of now.activity, the law given */
};

/* The store's activity where the last stretch ends.  What mistings left before is a prior for
 * what the last one did. */
static void settle(const struct stretch *last, bool misted, const struct habit *habit,
		   struct ending *out)
{
	double store = last->store, information = last->information;
	double gain = last->end.full.activity, shift;

	if (misted && habit->count >= 3) {
		double n = (double)habit->count, mean = habit->sum / n;
		double variance = (habit->squares - n * mean * mean) / (n - 1) * (1 + 1 / n);
		double known = 1 / fmax(variance, 1e-4);

		store = (store * information + mean * known) / (information + known);
		information += known;
	}
	shift = last->end.empty.activity + store * gain;
	out->now.activity = fmin(fmax(shift, 0), 1);
	out->error = information > 0 ? gain / sqrt(information) : 0.3;
}

static struct ending ending_of(const struct law_air *air, const struct course_law *law)
{
	double *left = must_calloc(air->count, sizeof *left);
	double *answer = must_calloc(air->count, sizeof *answer);
	struct stretch last = { 0 };
	struct habit habit = { 0 };
	struct ending ending = { 0 };
	bool misted = false;

	for (size_t i = 0; i < air->count;) {
		if (air->list[i].begins != STORE) {
			i++;
			continue;
		}
		if (misted && last.information > 0) {
			habit.count++;
			habit.sum += last.store;
			habit.squares += last.store * last.store;
		}
		misted = air->list[i].misted;
		last = stretch_from(air, i, law, left, answer);
		i = last.to;
	}
	settle(&last, misted, &habit, &ending);
	ending.now.vapour = air->now;
	free(left);
	free(answer);
	return ending;
}

/* ---- the search ------------------------------------------------------------ */

/* The root mean square of what is left, in %, and by how much more the mean of N residuals
 * is unsure than that of N which do not hang together. */
struct rest {
	double square, inflation;
};

static struct rest rest_of(const struct law_air *air, const double *left)
{
	size_t lags = (size_t)(MEMORY / air->hours), count = 0;
	struct rest rest = { 0, 1 };

	for (size_t lag = 0; lag < lags; lag++) {
		double sum = 0;
		size_t pairs = 0;

		for (size_t i = lag; i < air->count; i++)
			if (air->list[i].looked_at && air->list[i - lag].looked_at) {
				sum += left[i] * left[i - lag];
				pairs++;
			}
		if (lag == 0) {
			count = pairs;
			rest.square = count > 0 ? sum / (double)count : 0;
		} else if (pairs == 0 || sum <= 0 || rest.square <= 0) {
			break;
		} else {
			rest.inflation += 2 * sum / (double)pairs / rest.square;
		}
	}
	rest.square = fmax(rest.square * air->unit * air->unit, QUIET * QUIET);
	return rest;
}

/* What stands far out is not looked at any more. */
static void leave_aside(struct law_air *air, const double *left)
{
	double *sizes = must_calloc(air->count + 1, sizeof *sizes), most;
	size_t count = 0;

	for (size_t i = 0; i < air->count; i++)
		if (air->list[i].looked_at)
			sizes[count++] = fabs(left[i]);
	most = FAR_OUT * fmax(spread_of(sizes, count).median / 0.6745, QUIET / air->unit);
	for (size_t i = 0; i < air->count; i++)
		if (fabs(left[i]) > most)
			air->list[i].looked_at = false;
	free(sizes);
}

/* Two passes; *residual (%) is what the second leaves. */
static bool search(struct law_air *air, struct fit *fit, double *residual)
{
	struct fit_problem problem = { .points = air->count + LAW, .parameters = LAW,
				       .residuals = residuals, .context = air };
	double *left = must_calloc(problem.points, sizeof *left);
	bool found = true;

	for (int k = 0; k < LAW; k++)
		problem.start[k] = AWAY;
	for (int pass = 0; pass < 2; pass++) {
		struct rest rest;

		if (pass == 1) {
			leave_aside(air, left);
			residuals(air, fit->parameter, left);
			rest = rest_of(air, left);
			air->unit = sqrt(rest.square * rest.inflation);
		}
		found = fit_least_squares(&problem, fit);
		if (!found)
			break;
		residuals(air, fit->parameter, left);
		*residual = sqrt(rest_of(air, left).square);
		for (int k = 0; k < LAW; k++)
			problem.start[k] = fit->parameter[k];
	}
	free(left);
	return found;
}

/* ---- draws ----------------------------------------------------------------- */

/* Even in (0, 1): splitmix64 (Steele, Lea, Flood 2014; constants from memory). */
static double even(uint64_t *state)
{
	uint64_t bits = *state += 0x9e3779b97f4a7c15u;

	bits = (bits ^ bits >> 30) * 0xbf58476d1ce4e5b9u;
	bits = (bits ^ bits >> 27) * 0x94d049bb133111ebu;
	return ((double)((bits ^ bits >> 31) >> 11) + 0.5) / 9007199254740992.0;
}

/* Normal, mean 0 and variance 1 (Box and Muller). */
static double normal(uint64_t *state)
{
	double radius = sqrt(-2 * log(even(state)));

	return radius * cos(2 * M_PI * even(state));
}

/* root x its transpose = matrix (Cholesky). */
static void take_root(const double matrix[LAW][LAW], double root[LAW][LAW])
{
	for (int i = 0; i < LAW; i++)
		for (int j = 0; j <= i; j++) {
			double sum = matrix[i][j];

			for (int k = 0; k < j; k++)
				sum -= root[i][k] * root[j][k];
			root[i][j] = i == j ? sqrt(fmax(sum, 0))
				     : root[j][j] > 0 ? sum / root[j][j] : 0;
		}
}

static void draw(const struct law_air *air, const struct fit *fit, struct law_fit *out)
{
	double root[LAW][LAW] = { { 0 } }, covariance[LAW][LAW];
	uint64_t chance = 1;

	for (int i = 0; i < LAW; i++)
		for (int j = 0; j < LAW; j++)
			covariance[i][j] = fit->covariance[i][j] * fit->freedom / fit->sum_squares;
	take_root(covariance, root);
	for (size_t i = 0; i < LAW_DRAWS; i++) {
		double drawn[LAW], by[LAW];
		struct ending ending;

		for (int k = 0; k < LAW; k++) {
			by[k] = normal(&chance);
			drawn[k] = fit->parameter[k];
			for (int j = 0; j <= k; j++)
				drawn[k] += root[k][j] * by[j];
		}
		out->draws[i].law = law_of(drawn);
		ending = ending_of(air, &out->draws[i].law);
		ending.now.activity += ending.error * normal(&chance);
		ending.now.activity = fmin(fmax(ending.now.activity, 0), 1);
		out->draws[i].now = ending.now;
	}
}

bool law_find(const struct bins *inside, const struct bins *room, const struct mistings *mistings,
	      struct law_fit *out)
{
	struct law_air air;
	struct fit fit;
	bool found;

	if (!law_air_make(inside, room, mistings, &air))
		return false;
	found = search(&air, &fit, &out->residual);
	if (found) {
		double unit = fit.sum_squares / fit.freedom;

		out->law = law_of(fit.parameter);
		out->now = ending_of(&air, &out->law).now;
		out->hours = 0;
		for (size_t i = 0; i < air.count; i++)
			out->hours += air.list[i].looked_at ? air.hours : 0;
		for (int i = 0; i < LAW; i++)
			for (int j = 0; j < LAW; j++)
				out->log_covariance[i][j] = fit.covariance[i][j] / unit *
							     PRIOR_SPREAD[i] * PRIOR_SPREAD[j];
		draw(&air, &fit, out);
	}
	law_air_clear(&air);
	return found;
}
