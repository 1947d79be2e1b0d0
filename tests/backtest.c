/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * backtest CONF < what fork_world prints: what would have been foretold at each TIME, from the
 * archive before it alone, beside what came.  For each enclosure with a humidity band a line
 *
 *   TIME ENCLOSURE BUILD LEAVES PASSES TOLD SECONDS
 *
 * three of TRUTH,LOW,MEDIAN,HIGH in hours (0: below at TIME already; inf: not within the
 * horizon), and processor time.  For run-backtest.sh.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "conf/load.h"
#include "conf/memory.h"
#include "report/forecast.h"
#include "report/past.h"

/* A line of fork_world. */
struct fork {
	double time;
	char name[NAME_SIZE], build[16];
	double *humidity;       /* % */
	size_t count;
};

static const double LIMIT_BELOW = 5;            /* % */

struct context {
	const struct conf *conf;
	struct band_list bands;
	struct window window;   /* the past of the fork in hand */
	struct room_past room;
};

struct truth {
	double leaves, passes, told; /* h */
};

static struct truth truth_of(const struct fork *fork, const struct ribbon *ribbon,
			     const struct rule *rule)
{
	const struct band_record *record = &ribbon->list[ribbon->count - 1];
	struct truth truth = { INFINITY, INFINITY, INFINITY };
	struct in_force force = { 0 };
	double outside = 0;     /* s in the episode */

	for (size_t i = 0; i < fork->count; i++) {
		double hours = (double)i * FORECAST_STEP / 3600;
		double edge = ribbon_next(ribbon, fork->time + hours * 3600, &force)->band.low;

		if (record->has_limits && fork->humidity[i] < record->limits.low)
			truth.passes = fmin(truth.passes, hours);
		if (fork->humidity[i] >= edge + rule->deadband)
			outside = 0;
		if (fork->humidity[i] >= edge)
			continue;
		outside += FORECAST_STEP;
		truth.leaves = fmin(truth.leaves, hours);
		if (outside >= rule->patience)
			truth.told = fmin(truth.told, hours);
	}
	return truth;
}

static void print_beside(double truth, struct spread spread)
{
	printf(" %.3f,%.3f,%.3f,%.3f", truth, spread.low, spread.median, spread.high);
}

static void foretell(const struct context *context, const struct fork *fork,
		     const struct place_past *place, const struct rule *rule)
{
	struct forecast_past past = { &place->bins,
				      context->room.present ? &context->room.bins : NULL,
				      &place->mistings, &place->ribbon, rule, fork->time };
	struct truth truth = truth_of(fork, &place->ribbon, rule);
	struct forecast forecast;
	clock_t begin = clock();

	forecast_make(&past, (double)(fork->count - 1) * FORECAST_STEP / 3600, &forecast);
	begin = clock() - begin;
	printf("%.0f %s %s", fork->time, fork->name, fork->build);
	if (!forecast.known) {
		puts(" unknown");
		return;
	}
	print_beside(truth.leaves, forecast.leaves);
	print_beside(truth.passes, forecast.passes);
	print_beside(truth.told, forecast.told);
	printf(" %.4f\n", (double)begin / CLOCKS_PER_SEC);
}

/* None of these rooms comes to its limits within days.  So that there is something to foretell,
 * they are put this much below the band. */
static void set_limits(struct ribbon *ribbon)
{
	for (size_t i = 0; i < ribbon->count; i++)
		ribbon->list[i].limits.low = ribbon->list[i].day.low - LIMIT_BELOW;
}

static void compare(const struct context *context, const struct fork *fork)
{
	const struct conf *conf = context->conf;

	for (size_t i = 0; i < conf->enclosure_count; i++) {
		const struct enclosure *enclosure = &conf->enclosures[i];
		struct record record;
		struct place_past place;
		enum place at;

		if (strcmp(enclosure->name, fork->name) != 0 ||
		    !humid_place(conf, enclosure, &at) ||
		    !enclosure->places[at].rules[HUMIDITY].has_band)
			continue;
		record_read(conf, enclosure, context->window, &record);
		if (place_past_make(conf, enclosure, &record, at, &context->bands,
				    context->window, FORECAST_STEP, &place)) {
			set_limits(&place.ribbon);
			foretell(context, fork, &place, &enclosure->places[at].rules[HUMIDITY]);
			place_past_clear(&place);
		}
		record_clear(&record);
	}
}

/* The next line; false at the end. */
static bool fork_read(struct fork *fork)
{
	double value;

	if (scanf("%lf %40s %15s", &fork->time, fork->name, fork->build) != 3)
		return false;
	for (fork->count = 0; getchar() == ' ' && scanf("%lf", &value) == 1;) {
		fork->humidity = must_resize(fork->humidity, fork->count + 1,
					     sizeof *fork->humidity);
		fork->humidity[fork->count++] = value;
	}
	return true;
}

int main(int argc, char **argv)
{
	struct faults faults = { 0 };
	struct conf *conf = argc == 2 ? conf_load(argv[1], &faults) : NULL;
	struct context context = { .conf = conf };
	struct fork fork = { 0 };

	if (!conf) {
		fputs("usage: backtest CONF < FORKS\n", stderr);
		return 2;
	}
	bands_load(conf->state, &context.bands);
	while (fork_read(&fork)) {
		if (fork.time > context.window.to) {
			room_past_clear(&context.room);
			context.window = (struct window){ fork.time - FORECAST_DAYS * 86400.0,
							  fork.time };
			room_past_read(conf, context.window, FORECAST_STEP, &context.room);
		}
		compare(&context, &fork);
	}
	room_past_clear(&context.room);
	free(fork.humidity);
	bands_clear(&context.bands);
	faults_clear(&faults);
	conf_free(conf);
	return 0;
}
