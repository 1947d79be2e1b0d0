/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The jar against the room's air, by least squares; see salt_leak.h.
 */
#include "report/salt_leak.h"

#include <math.h>
#include <stdlib.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "report/fit.h"
#include "report/salt_steady.h"

enum { TERM_ROOM, TERM_LEAD, TERM_LAG, TERM_REST, TERMS }; /* besides the constant */

static const double LEAST_KNOWN = 0.8;  /* of the room */
/* Standard deviations below which a term says nothing: %, °C, 1. */
static const double least_spread[TERMS] = { 0.1, 0.005, 0.005, 1e-3 };

const double SALT_DELAY = 0.5;

struct task {
	const double *value;            /* less its mean, as each term is */
	const double *term[TERMS];      /* those that are used, in units of their spread */
	size_t count, terms;
};

/* Of its way to go that is gone after so many s. */
static double share_of(double seconds, double hours)
{
	return 1 - exp(-seconds / 3600 / hours);
}

double *leak_lead(const struct bins *inside, double hours)
{
	double *lead = must_calloc(inside->count + 1, sizeof *lead), salt = NAN;
	size_t before = 0;

	for (size_t i = 0; i < inside->count; i++) {
		const struct bin *bin = &inside->list[i];

		if (!step_known(inside, i))
			continue;
		/* Through a gap it has gone on. */
		double since = (double)(i - before) * inside->step;

		salt = isnan(salt) ? bin->celsius
				   : salt + (bin->celsius - salt) * share_of(since, hours);
		lead[i] = bin->celsius - salt;
		before = i;
	}
	return lead;
}

/* The jar's temperature then, or the next that is known before it was closed. */
static double celsius_at(const struct bins *inside, double time)
{
	const struct bin *bin = bin_at(inside, time);

	if (bin && bin->ok > 0)
		return bin->celsius;
	for (size_t i = 0; i < inside->count; i++)
		if (step_known(inside, i) && bin_time(inside, i) >= time)
			return inside->list[i].celsius;
	return NAN;
}

/* The room's air at the jar's temperature, as late as the jar has it; NAN where it is not known.  Its
 * rows may be coarser than the jar's: what is known holds for an hour.  False when too little
 * of it is known. */
static bool follow_room(const struct bins *inside, const struct bins *room, double delay,
			double *out)
{
	double air = NAN, latest = NAN, until = -INFINITY, before = 0;
	size_t known = 0;

	for (size_t i = 0; i < room->count; i++) {
		const struct bin *bin = &room->list[i];
		double time = bin_time(room, i), at = (time - inside->from) / inside->step;

		if (bin->ok > 0) {
			latest = air_humidity_elsewhere(bin->celsius, bin->humidity,
							celsius_at(inside, time));
			until = time + 3600;
		}
		if (time <= until && !isnan(latest)) {
			air = isnan(air) ? latest
					 : air + (latest - air) * share_of(time - before, delay);
			before = time;
		}
		if (at < 0 || at >= (double)inside->count)
			continue;
		out[(size_t)at] = time <= until ? air : NAN;
		known += time <= until;
	}
	return (double)known >= LEAST_KNOWN * (double)inside->count;
}

static void residuals_of(const void *context, const double *b, double *residuals)
{
	const struct task *task = context;

	for (size_t i = 0; i < task->count; i++) {
		residuals[i] = task->value[i] - b[0];
		for (size_t t = 0; t < task->terms; t++)
			residuals[i] -= b[t + 1] * task->term[t][i];
	}
}

/* Takes the mean off and divides by the spread, which it returns. */
static double level(double *list, size_t count, double *mean)
{
	double sum = 0, squares = 0;

	for (size_t i = 0; i < count; i++)
		sum += list[i];
	*mean = sum / (double)count;
	for (size_t i = 0; i < count; i++)
		squares += (list[i] - *mean) * (list[i] - *mean);

	double spread = sqrt(squares / (double)count);

	for (size_t i = 0; i < count; i++)
		list[i] = (list[i] - *mean) / (spread > 0 ? spread : 1);
	return spread;
}

static bool fit(struct task *task, struct leak *out, double spread)
{
	struct fit_problem problem = { .points = task->count, .parameters = task->terms + 1,
				       .residuals = residuals_of, .context = task,
				       .start = { 0.1, 0.1, 0.1, 0.1, 0.1 } };
	double *rest = must_calloc(task->count, sizeof *rest);
	struct fit found;
	bool rests = task->count > 2 * problem.parameters && fit_least_squares(&problem, &found);

	if (rests) {
		residuals_of(task, found.parameter, rest);
		out->share = found.parameter[1] / spread;
		out->error = found.error[1] / spread * hang_together(rest, task->count);
	}
	free(rest);
	return rests;
}

bool leak_find(const struct bins *inside, const struct bins *room, size_t first, size_t end,
	       double delay, double coarse, struct leak *out)
{
	double *air = must_calloc(inside->count + 1, sizeof *air), *lead = leak_lead(inside, SALT_DELAY);
	double *lag = leak_lead(inside, SALT_DELAY + delay);
	double *list[TERMS + 1]; /* the terms, and the value */
	double mean, room_spread = 0;
	struct task task = { 0 };
	bool found = follow_room(inside, room, delay, air);

	for (int t = 0; t <= TERMS; t++)
		list[t] = must_calloc(end - first + 1, sizeof *list[t]);
	for (size_t i = first; i < end; i++) {
		if (!step_known(inside, i) || isnan(air[i]))
			continue;
		list[TERM_ROOM][task.count] = air[i];
		list[TERM_LEAD][task.count] = lead[i];
		list[TERM_LAG][task.count] = lag[i];
		list[TERM_REST][task.count] =
			exp(-(double)(i - first) * inside->step / 3600 / delay);
		list[TERMS][task.count++] = inside->list[i].humidity;
	}
	for (int t = 0; found && t < TERMS; t++) {
		double spread = level(list[t], task.count, &mean);

		if (t == TERM_ROOM) {
			out->air = mean;
			room_spread = spread;
			found = spread >= least_spread[t];
		}
		if (spread >= least_spread[t])
			task.term[task.terms++] = list[t];
	}
	task.value = list[TERMS];
	if (found) {
		double spread = level(list[TERMS], task.count, &mean);

		for (size_t i = 0; i < task.count; i++)
			list[TERMS][i] *= spread > 0 ? spread : 1;
		found = fit(&task, out, room_spread);
		out->coarse = coarse / room_spread;
	}
	for (int t = 0; t <= TERMS; t++)
		free(list[t]);
	free(lag);
	free(lead);
	free(air);
	return found;
}
