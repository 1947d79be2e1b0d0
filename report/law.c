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
 * made larger by its own autocorrelation; what stands far out is left aside in the last of the
 * passes.  A closed box that dries as one slow exponential, or one that is never misted, does not
 * show all three numbers.  So each has a weak prior; its figures are invented, wide enough for
 * a tub and a screen cage alike, and decide only what the air does not.
 */
#include "report/law.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/chance.h"
#include "report/law_course.h"
#include "report/spread.h"
#include "report/walk.h"

enum { LAW = 3, MOST_BREAKS = 8 };
enum { FIRST_STEPS = 60, STEPS = 6 };           /* of the walk, before the first draw and each */

static const double PRIOR_MEAN[LAW] = { 0.7, 0.7, 700 };  /* 1/h, 1/h, g/m³ */
static const double PRIOR_SPREAD[LAW] = { 1.5, 1.5, 1.5 };  /* of the logarithm */
static const double AWAY = 10;
static const double FAR_OUT = 4;                /* times the usual residual */
static const double MEMORY = 12;                /* h over which residuals may hang together */
static const double SPLIT = 100;                /* see break_up; in squares of air->unit */
static const double LEAST_VARIANCE = 1e-4;      /* of what mistings leave in the store */
static const double UNTOLD = 0.3;               /* error of an activity nothing is known of */
/* No store is as simple as the law's: each draw may empty so much faster or slower (of the
 * logarithm) than the past shows.  Invented, and judged on simulated rooms. */
static const double UNLIKE = 0.07;
static const double QUIET = 0.1;                /* %: no probe is better than that */

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
	struct columns columns = columns_make(air->count);
	struct course_law law = law_of(parameters);
	size_t i = 0;

	while (i < air->count) /* 0 before the first */
		i = air->list[i].begins == STORE ? stretch_from(air, i, &law, &columns).to : i + 1;
	for (i = 0; i < air->count; i++)
		left[i] = columns.left[i];
	for (int k = 0; k < LAW; k++)
		left[air->count + (size_t)k] = parameters[k] - AWAY;
	columns_free(&columns);
}

/* ---- the state now --------------------------------------------------------- */

/* What mistings leave in the store: of the stretches before. */
struct habit {
	size_t count;
	double sum, squares;
};

struct ending {
	struct course_state now;
	double error;           /* of now.activity, the law given */
};

static void learn(struct habit *habit, double store)
{
	habit->count++;
	habit->sum += store;
	habit->squares += store * store;
}

/* The variance of the next one about the mean of those before. */
static double variance_of(const struct habit *habit, double mean)
{
	double n = (double)habit->count;

	return fmax((habit->squares - n * mean * mean) / (n - 1) * (1 + 1 / n), LEAST_VARIANCE);
}

/* The store's activity where the last stretch ends.  What mistings left before is a prior for
 * what the last one did, and all there is when that was just now. */
static void settle(const struct law_air *air, const struct stretch *last, bool misted,
		   const struct habit *habit, struct ending *out)
{
	double store = last->store, information = last->information;
	double gain = last->end.full.activity, activity;
	bool known = habit->count >= 3;
	double mean = known ? habit->sum / (double)habit->count : 0;
	double variance = known ? variance_of(habit, mean) : 0;

	if (known && misted && !air->just_misted) {
		store = (store * information + mean / variance) / (information + 1 / variance);
		information += 1 / variance;
	}
	activity = last->end.empty.activity + store * gain;
	out->error = information > 0 ? gain / sqrt(information) : UNTOLD;
	if (air->just_misted) {
		activity = known ? mean : activity;
		out->error = known ? sqrt(variance) : UNTOLD;
	}
	out->now = (struct course_state){ air->now, fmin(fmax(activity, 0), 1) };
}

static struct ending ending_of(const struct law_air *air, const struct course_law *law)
{
	struct columns columns = columns_make(air->count);
	struct stretch last = { 0 };
	struct habit habit = { 0 };
	struct ending ending = { 0 };
	bool misted = false;

	for (size_t i = 0; i < air->count;) {
		if (air->list[i].begins != STORE) {
			i++;
			continue;
		}
		if (misted && last.information > 0)
			learn(&habit, last.store);
		misted = air->list[i].misted;
		last = stretch_from(air, i, law, &columns);
		i = last.to;
	}
	if (air->just_misted && misted && last.information > 0)
		learn(&habit, last.store);
	settle(air, &last, misted, &habit, &ending);
	columns_free(&columns);
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

/* The moment at which a stretch is best broken in two, if that mends more than SPLIT. */
static size_t best_break(const struct law_air *air, const struct course_law *law,
			 const struct stretch *whole, struct columns *columns)
{
	size_t every = (size_t)(1 / air->hours), film = 2 * every, best = 0;
	double least = stretch_misfit(columns, whole) - SPLIT;

	for (size_t i = whole->from + every; i + every < whole->to; i += every) {
		struct moment *moment = &air->list[i];
		enum begins before = moment->begins;
		struct stretch one, other;
		double both;

		if (!moment->looked_at)
			continue;
		moment->begins = STORE;
		one = stretch_from(air, whole->from, law, columns);
		one.to -= one.to - one.from > film ? film : one.to - one.from;
		other = stretch_from(air, i, law, columns);
		both = stretch_misfit(columns, &one) + stretch_misfit(columns, &other);
		if (both < least) {
			least = both;
			best = i;
		}
		moment->begins = before;
	}
	return best;
}

/* A misting that was not found, or water poured into the ground, shows in a stretch that no store
 * explains: it is broken where that helps most.  True when one was. */
static bool break_up(struct law_air *air, const double *parameters)
{
	struct columns columns = columns_make(air->count);
	struct course_law law = law_of(parameters);
	size_t i = 0, breaks = 0;

	while (i < air->count) {
		struct stretch stretch;
		size_t at = 0;

		if (air->list[i].begins != STORE) {
			i++;
			continue;
		}
		stretch = stretch_from(air, i, &law, &columns);
		if (stretch_misfit(&columns, &stretch) > SPLIT && breaks < MOST_BREAKS)
			at = best_break(air, &law, &stretch, &columns);
		breaks += at > 0;
		if (at > 0) {
			air->list[at].begins = STORE;
			air->list[at].misted = true;
			for (size_t k = 1; k <= (size_t)(2 / air->hours) && at - k > i; k++)
				air->list[at - k].looked_at = false;
		} else {
			i = stretch.to;
		}
	}
	columns_free(&columns);
	return breaks > 0;
}

static void begin_anew(struct fit_problem *problem)
{
	for (int k = 0; k < LAW; k++)
		problem->start[k] = AWAY;
}

/* A first pass; a second when it shows what to break; and the last, in which what stands far out
 * is left aside.  *residual (%) is what that leaves. */
static bool search(struct law_air *air, struct fit *fit, double *residual)
{
	struct fit_problem problem = { .points = air->count + LAW, .parameters = LAW,
				       .residuals = residuals, .context = air };
	double *left = must_calloc(problem.points, sizeof *left);
	bool found = true;

	begin_anew(&problem);
	for (int pass = 0; pass < 3; pass++) {
		struct rest rest;

		if (pass > 0) {
			if (!break_up(air, fit->parameter) && pass == 1)
				continue;
			residuals(air, fit->parameter, left);
			if (pass == 2)
				leave_aside(air, left);
			residuals(air, fit->parameter, left);
			rest = rest_of(air, left);
			air->unit = sqrt(rest.square * rest.inflation);
		}
		if (!fit_least_squares(&problem, fit)) {
			begin_anew(&problem);
			if (!fit_least_squares(&problem, fit)) {
				found = false;
				break;
			}
		}
		residuals(air, fit->parameter, left);
		*residual = sqrt(rest_of(air, left).square);
		for (int k = 0; k < LAW; k++)
			problem.start[k] = fit->parameter[k];
	}
	free(left);
	return found;
}

/* ---- draws ----------------------------------------------------------------- */

/* As the residuals have it, but with stores that can be. */
static double squares_of(const void *context, const double *parameters)
{
	const struct law_air *air = context;
	struct columns columns = columns_make(air->count);
	struct course_law law = law_of(parameters);
	double sum = 0;

	for (size_t i = 0; i < air->count;) {
		if (air->list[i].begins != STORE) {
			i++;
			continue;
		}
		struct stretch stretch = stretch_from(air, i, &law, &columns);
		double beyond = stretch.store - fmin(fmax(stretch.store, 0), 1);

		/* What the best store leaves is at right angles to the store's answer. */
		sum += stretch_misfit(&columns, &stretch) + beyond * beyond * stretch.information;
		i = stretch.to;
	}
	for (int k = 0; k < LAW; k++)
		sum += (parameters[k] - AWAY) * (parameters[k] - AWAY);
	columns_free(&columns);
	return sum;
}

static void draw(const struct law_air *air, const struct fit *fit, struct law_fit *out)
{
	struct walk walk;

	walk_begin(&walk, fit, LAW, squares_of, air);
	walk_on(&walk, FIRST_STEPS);
	for (size_t i = 0; i < LAW_DRAWS; i++) {
		struct ending ending;

		walk_on(&walk, STEPS);
		out->draws[i].law = law_of(walk.at);
		ending = ending_of(air, &out->draws[i].law);
		ending.now.activity += ending.error * chance_normal(&walk.chance);
		ending.now.activity = fmin(fmax(ending.now.activity, 0), 1);
		out->draws[i].law.capacity *= exp(UNLIKE * chance_normal(&walk.chance));
		out->draws[i].now = ending.now;
	}
}

bool law_find(const struct bins *inside, const struct bins *room, const struct mistings *mistings,
	      struct law_fit *out)
{
	struct law_air air;
	struct fit fit;
	bool found;

	if (!room || !law_air_make(inside, room, mistings, &air))
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
