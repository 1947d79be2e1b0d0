/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The plan of a graph; see graph.h.
 */
#include "report/graph.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "report/gather.h"

enum {
	LABEL_ROOM = 20,        /* px above and below the line, for what is written there */
	NARROW_ROOM = 5,        /* px, in panels too low for that */
	TIME_APART = 84,        /* px between two ticks */
	VALUE_APART = 32,       /* px */
};

static const double NEAR_LIMIT = 0.35; /* of the axis: a limit nearer than that is drawn */

/* Room around what is drawn, and limits that are not far off; where there is
 * no band they are all that is wanted, and always drawn. */
static void fit_axis(struct graph_panel *panel, int height, enum units units)
{
	double least_span = panel->series.quantity == HUMIDITY ? 10 : 3;
	double room = height >= LABELLED_PLOT ? LABEL_ROOM : NARROW_ROOM;
	size_t begin = 0, end;
	double low, high;

	if (!curve_extent(&panel->curve, &low, &high)) {
		low = in_units(20, panel->series.quantity, units);
		high = low + least_span;
	}
	double missing = fmax(least_span - (high - low), 0) / 2;
	double span = high - low + 2 * missing;
	double reach = curve_run(&panel->curve, LAYER_BAND_LOW, &begin, &end) ? span * NEAR_LIMIT
									      : INFINITY;

	panel->low = low - missing;
	panel->high = high + missing;
	for (size_t c = 0; c < panel->curve.columns; c++) {
		double lower = panel->curve.layers[LAYER_LIMIT_LOW][c];
		double upper = panel->curve.layers[LAYER_LIMIT_HIGH][c];

		if (lower > low - reach)
			panel->low = fmin(panel->low, lower);
		if (upper < high + reach)
			panel->high = fmax(panel->high, upper);
	}
	double pad = (panel->high - panel->low) * room / (height - 2 * room);

	panel->low -= pad;
	panel->high += pad;
}

/* The axis that was asked for, or one that fits. */
static void plan_axis(struct graph_panel *panel, const struct range *scale, int height,
		      enum units units)
{
	if (scale) {
		panel->low = in_units(scale->low, panel->series.quantity, units);
		panel->high = in_units(scale->high, panel->series.quantity, units);
	} else {
		fit_axis(panel, height, units);
	}
	int most = height / VALUE_APART;

	panel->value_count = value_ticks(panel->low, panel->high, most > 2 ? most : 2,
					 panel->values);
}

/* Whether an alert is marked on a panel of that series. */
static bool marks(const struct graph_input *input, const struct alert_record *r,
		  struct series series)
{
	return (r->event == RAISED || r->event == WORSENED || r->event == CLEARED) &&
	       strcmp(r->enclosure, input->account->enclosure->name) == 0 && r->has_place &&
	       r->place == series.place && r->has_quantity && r->quantity == series.quantity;
}

static void plan_alerts(const struct graph_input *input, struct graph_panel *panel)
{
	panel->alerts = must_calloc(input->alerts->count, sizeof *panel->alerts);
	for (size_t i = 0; i < input->alerts->count; i++)
		if (marks(input, &input->alerts->list[i], panel->series))
			panel->alerts[panel->alert_count++] = &input->alerts->list[i];
}

static void plan_panel(const struct graph_input *input, const struct graph *graph, size_t i,
		       struct graph_panel *out)
{
	const struct series_account *series = &input->account->series[i];

	*out = (struct graph_panel){
		.series = series->series,
		.wanted = ribbon_ends(&series->ribbon, graph->window),
		.totals = series->totals,
		.least = series->least,
		.most = series->most,
		.mistings = series->series.quantity == HUMIDITY ? &series->mistings : NULL,
	};
	out->has_extremes = out->totals.known;
	curve_make(series->rows, &series->ribbon, graph->window, graph->plot_width, graph->units,
		   &out->curve);
	plan_axis(out, input->scale[series->series.quantity], graph->plot_height, graph->units);
	plan_alerts(input, out);
}

/* How many panels, and how high they can be. */
static bool plan_size(const struct graph_input *input, struct graph *graph, char **trouble)
{
	int count = 0;

	for (size_t i = 0; i < input->account->count; i++) {
		struct series series = input->account->series[i].series;

		if (!input->wanted[series.place])
			continue;
		count++;
		if (input->account->series[i].mistings.count)
			graph->strip_height = STRIP_HEIGHT;
		for (size_t n = 0; n < input->alerts->count; n++)
			if (marks(input, &input->alerts->list[n], series))
				graph->strip_height = STRIP_HEIGHT;
	}
	if (!count) {
		*trouble = must_print("%s has no probe at these places", input->account->enclosure->name);
		return false;
	}
	int each = HEADING_HEIGHT + graph->strip_height + PANEL_GAP;

	graph->width = input->width ? input->width : GRAPH_WIDTH;
	graph->height = input->height ? input->height
				      : HEAD_HEIGHT + count * (each + PLOT_HEIGHT) + FOOT_HEIGHT;
	graph->plot_width = graph->width - MARGIN_LEFT - MARGIN_RIGHT;
	graph->plot_height = (graph->height - HEAD_HEIGHT - FOOT_HEIGHT) / count - each;
	if (graph->plot_height >= LEAST_PLOT)
		return true;
	*trouble = must_print("%d pixels are too few for the %d panels of %s; --size needs a height "
			      "of at least %d", graph->height, count, input->account->enclosure->name,
			      HEAD_HEIGHT + FOOT_HEIGHT + count * (each + LEAST_PLOT));
	return false;
}

bool graph_plan(const struct graph_input *input, struct graph *out, char **trouble)
{
	const struct enclosure *enclosure = input->account->enclosure;
	const char *seasons = input->account->seasons;
	char *name = enclosure_title(enclosure);

	*out = (struct graph){ .window = input->account->window, .units = input->units };
	out->title = must_print("%s%s%s%s%s", name, enclosure->species ? " · " : "",
				enclosure->species ? enclosure->species->name : "",
				seasons ? " · " : "", seasons ? seasons : "");
	free(name);
	if (!plan_size(input, out, trouble)) {
		graph_clear(out);
		return false;
	}
	out->time_count = time_ticks(out->window, out->plot_width, TIME_APART, out->times);
	for (size_t i = 0; i < input->account->count; i++)
		if (input->wanted[input->account->series[i].series.place])
			plan_panel(input, out, i, &out->panels[out->count++]);
	out->finding = account_finding(input->account, input->wanted, out->units);
	return true;
}

void graph_clear(struct graph *graph)
{
	for (size_t i = 0; i < graph->count; i++) {
		curve_clear(&graph->panels[i].curve);
		free(graph->panels[i].alerts);
	}
	free(graph->title);
	free(graph->finding);
	*graph = (struct graph){ 0 };
}
