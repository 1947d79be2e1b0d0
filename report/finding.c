/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sentence above a graph: what was wrong, worst first.
 */
#include "report/graph.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/excursions.h"
#include "report/gather.h"

enum { TOLD = 2 };      /* so many matters are told in full */

/* s: less than this, and than a tenth of the window, within the limits, is
 * told in passing */
static const double SHORT = 300;

/* One series out on one side. */
struct matter {
	const struct graph_panel *panel;
	enum side side;
	double seconds, weight;
	bool beyond_limits;
};

static bool matter_of(const struct graph_panel *panel, enum side side, struct matter *out)
{
	double seconds = side == BELOW ? panel->totals.low : panel->totals.high;
	double edge = side == BELOW ? fmin(panel->day.low, panel->night.low)
				    : fmax(panel->day.high, panel->night.high);
	double worst = side == BELOW ? panel->least.value : panel->most.value;
	double width = fmax(panel->day.high - panel->day.low, 1);

	if (!panel->has_band || seconds <= 0)
		return false;
	*out = (struct matter){
		.panel = panel,
		.side = side,
		.seconds = seconds,
		.weight = seconds * (0.1 + fabs(worst - edge) / width),
		.beyond_limits = panel->has_limits &&
				 (side == BELOW ? worst < panel->limits.low
						: worst > panel->limits.high),
	};
	return true;
}

static int worst_first(const void *a, const void *b)
{
	const struct matter *one = a, *other = b;

	if (one->beyond_limits != other->beyond_limits)
		return one->beyond_limits ? -1 : 1;
	return (one->weight < other->weight) - (one->weight > other->weight);
}

/* "cool side humidity below its band for 3 h 20 min, lowest 38 %" */
static char *tell(const struct matter *matter, enum units units)
{
	const struct graph_panel *panel = matter->panel;
	double worst = matter->side == BELOW ? panel->least.value : panel->most.value;
	char duration[MEASURE_TEXT], value[MEASURE_TEXT];
	char *phrase = series_phrase(panel->series);
	char *text = must_print("%s %s its band for %s, %s %s%s", phrase, side_word(matter->side),
				show_duration(matter->seconds, duration),
				matter->side == BELOW ? "lowest" : "highest",
				show_value(worst, panel->series.quantity, units, value),
				matter->beyond_limits ? ", beyond its limits" : "");

	free(phrase);
	return text;
}

/* What is said when no series was out for long. */
static char *tell_good(const struct graph *graph, size_t short_ones)
{
	bool known = false, has_band = false;
	double unknown = 0;
	char text[MEASURE_TEXT];

	for (size_t i = 0; i < graph->count; i++) {
		known |= graph->panels[i].totals.known;
		has_band |= graph->panels[i].has_band;
		unknown = fmax(unknown, graph->panels[i].totals.unknown);
	}
	if (!known)
		return must_copy("nothing is known of this time");
	if (!has_band)
		return must_copy("no band is set here");
	if (short_ones)
		return must_copy("in its bands but for less than 5 min");
	if (unknown > SHORT)
		return must_print("in its bands as far as is known, unknown for %s",
				  show_duration(unknown, text));
	return must_copy("in its bands all the time");
}

static char *tell_all(const struct matter *matters, size_t count, enum units units)
{
	char *text = must_copy("");

	for (size_t i = 0; i < count && i < TOLD; i++) {
		char *one = tell(&matters[i], units);
		char *both = must_print("%s%s%s", text, i ? "; " : "", one);

		free(one);
		free(text);
		text = both;
	}
	if (count > TOLD) {
		char *more = must_print("%s; and %zu more", text, count - TOLD);

		free(text);
		text = more;
	}
	return text;
}

char *graph_finding(const struct graph *graph)
{
	struct matter matters[MAX_SERIES * SIDES];
	size_t count = 0, short_ones = 0;
	double span = graph->window.to - graph->window.from;
	char *text;

	for (size_t i = 0; i < graph->count; i++)
		for (int side = 0; side < SIDES; side++) {
			struct matter *matter = &matters[count];

			if (!matter_of(&graph->panels[i], (enum side)side, matter))
				continue;
			if (matter->seconds < fmin(SHORT, span / 10) && !matter->beyond_limits)
				short_ones++;
			else
				count++;
		}
	qsort(matters, count, sizeof *matters, worst_first);
	text = count ? tell_all(matters, count, graph->units) : tell_good(graph, short_ones);
	text[0] = (char)toupper((unsigned char)text[0]);
	return text;
}
