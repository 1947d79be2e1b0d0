/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Curves -> what is inside the page's pictures; see page.h.  Everything is in
 * whole numbers, relative to the point before, so that a path is short and a
 * script can read the values back from it.
 */
#include "report/page.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"

static const double FAR = 100000; /* higher than any strip */

/* A path being written, and where its pen is. */
struct pen {
	FILE *out;
	long x, y;
};

static void move(struct pen *pen, long x, long y)
{
	fprintf(pen->out, "M%ld %ld", x, y);
	pen->x = x;
	pen->y = y;
}

static void line(struct pen *pen, long x, long y)
{
	if (y == pen->y)
		fprintf(pen->out, "h%ld", x - pen->x);
	else if (x == pen->x)
		fprintf(pen->out, "v%ld", y - pen->y);
	else
		fprintf(pen->out, "l%ld%s%ld", x - pen->x, y < pen->y ? "" : " ", y - pen->y);
	pen->x = x;
	pen->y = y;
}

static struct pen begin(FILE *out, const char *class)
{
	fprintf(out, "<path class=\"%s\" d=\"", class);
	return (struct pen){ .out = out };
}

static void end(FILE *out)
{
	fputs("\"/>", out);
}

static long middle(size_t column)
{
	return 2 * (long)column + 1;
}

static bool has_any(const struct curve *curve, enum layer layer)
{
	size_t from = 0, to;

	return curve_run(curve, layer, &from, &to);
}

static void write_nights(FILE *out, const struct curve *curve, double top, double height)
{
	for (size_t from = 0, to; curve_run(curve, LAYER_NIGHT, &from, &to); from = to)
		fprintf(out, "<rect class=\"night\" x=\"%zu\" y=\"%.0f\" width=\"%zu\" "
			"height=\"%.0f\"/>", 2 * from, top, 2 * (to - from), height);
}

/* ---- a plot ------------------------------------------------------------------- */

static long y_of(const struct graph_panel *panel, double value)
{
	return lround((panel->high - value) * Y_SCALE);
}

static void write_line(FILE *out, const struct graph_panel *panel, enum layer layer,
		       const char *class)
{
	const double *values = panel->curve.layers[layer];
	struct pen pen = begin(out, class);

	for (size_t from = 0, to; curve_run(&panel->curve, layer, &from, &to); from = to) {
		move(&pen, middle(from), y_of(panel, values[from]));
		for (size_t c = from + 1; c < to; c++) {
			long y = y_of(panel, values[c]);

			/* Of a level stretch only its ends are points. */
			if (c + 1 < to && y == pen.y && y_of(panel, values[c + 1]) == y)
				continue;
			line(&pen, middle(c), y);
		}
		if (to == from + 1)
			fputs("h0", out); /* a lone reading is a dot */
	}
	end(out);
}

/* The ribbon, with upright edges where the band changes. */
static void write_ribbon(FILE *out, const struct graph_panel *panel)
{
	const double *low = panel->curve.layers[LAYER_BAND_LOW];
	const double *high = panel->curve.layers[LAYER_BAND_HIGH];
	struct pen pen = begin(out, "band");

	for (size_t from = 0, to; curve_run(&panel->curve, LAYER_BAND_LOW, &from, &to); from = to) {
		move(&pen, 2 * (long)from, y_of(panel, high[from]));
		for (size_t c = from + 1; c < to; c++)
			if (high[c] < high[c - 1] || high[c] > high[c - 1]) {
				line(&pen, 2 * (long)c, pen.y);
				line(&pen, 2 * (long)c, y_of(panel, high[c]));
			}
		line(&pen, 2 * (long)to, pen.y);
		line(&pen, 2 * (long)to, y_of(panel, low[to - 1]));
		for (size_t c = to - 1; c > from; c--)
			if (low[c] < low[c - 1] || low[c] > low[c - 1]) {
				line(&pen, 2 * (long)c, pen.y);
				line(&pen, 2 * (long)c, y_of(panel, low[c - 1]));
			}
		line(&pen, 2 * (long)from, pen.y);
		fputc('z', out);
	}
	end(out);
}

/* What lies between the reading and the band's edge. */
static void write_out(FILE *out, const struct graph_panel *panel, enum layer from_layer,
		      const char *class)
{
	const double *first = panel->curve.layers[from_layer];
	const double *second = panel->curve.layers[from_layer + 1];

	if (!has_any(&panel->curve, from_layer))
		return;
	struct pen pen = begin(out, class);

	for (size_t from = 0, to; curve_run(&panel->curve, from_layer, &from, &to); from = to) {
		move(&pen, 2 * (long)from, y_of(panel, first[from]));
		for (size_t c = from; c < to; c++)
			line(&pen, middle(c), y_of(panel, first[c]));
		line(&pen, 2 * (long)to, pen.y);
		line(&pen, 2 * (long)to, y_of(panel, second[to - 1]));
		for (size_t c = to; c > from; c--)
			line(&pen, middle(c - 1), y_of(panel, second[c - 1]));
		line(&pen, 2 * (long)from, pen.y);
		fputc('z', out);
	}
	end(out);
}

static void write_unknown(FILE *out, const struct curve *curve, long y)
{
	if (!has_any(curve, LAYER_UNKNOWN))
		return;
	struct pen pen = begin(out, "unknown");

	for (size_t from = 0, to; curve_run(curve, LAYER_UNKNOWN, &from, &to); from = to) {
		move(&pen, 2 * (long)from, y);
		line(&pen, 2 * (long)to, y);
	}
	end(out);
}

/* One limit, where the axis has it, with upright edges where it moves. */
static void write_limit(FILE *out, const struct graph_panel *panel, enum layer layer)
{
	const double *limits = panel->curve.layers[layer];
	struct pen pen = { .out = out };
	bool any = false, down = false;

	for (size_t from = 0, to; from < panel->curve.columns; from = to) {
		bool within = limits[from] > panel->low && limits[from] < panel->high;

		to = curve_level(&panel->curve, layer, from, panel->curve.columns);
		if (within && !any)
			pen = begin(out, "limit");
		if (within && !down)
			move(&pen, 2 * (long)from, y_of(panel, limits[from]));
		else if (within)
			line(&pen, 2 * (long)from, y_of(panel, limits[from]));
		if (within)
			line(&pen, 2 * (long)to, pen.y);
		any |= within;
		down = within;
	}
	if (any)
		end(out);
}

void path_plot(FILE *out, const struct graph_panel *panel)
{
	const struct curve *curve = &panel->curve;
	double height = (panel->high - panel->low) * Y_SCALE;

	write_nights(out, curve, 0, ceil(height));
	if (has_any(curve, LAYER_BAND_LOW))
		write_ribbon(out, panel);
	write_limit(out, panel, LAYER_LIMIT_LOW);
	write_limit(out, panel, LAYER_LIMIT_HIGH);
	write_out(out, panel, LAYER_UNDER_FROM, "below");
	write_out(out, panel, LAYER_OVER_FROM, "above");
	if (curve->coarse) {
		write_line(out, panel, LAYER_LEAST, "hair");
		write_line(out, panel, LAYER_MOST, "hair");
	}
	write_line(out, panel, LAYER_LINE, "reading");
	write_unknown(out, curve, lround(height * 0.97));
}

/* ---- a strip -------------------------------------------------------------------- */

/* One column of a strip. */
struct deep {
	double below, above;    /* distance out of the band; 0: none */
	bool beyond[SIDES];     /* the limits */
	bool unknown, judged;   /* at any of its places */
};

static void deepen(const struct graph_panel *panel, size_t c, struct deep *deep)
{
	double *const *layers = panel->curve.layers;
	double under = layers[LAYER_UNDER_TO][c] - layers[LAYER_UNDER_FROM][c];
	double over = layers[LAYER_OVER_TO][c] - layers[LAYER_OVER_FROM][c];

	if (isnan(layers[LAYER_BAND_LOW][c]))
		return;
	deep->judged = true;
	deep->unknown |= isnan(layers[LAYER_LINE][c]);
	deep->below = fmax(deep->below, under); /* fmax leaves NaN aside */
	deep->above = fmax(deep->above, over);
	deep->beyond[BELOW] |= curve_beyond(&panel->curve, c, BELOW);
	deep->beyond[ABOVE] |= curve_beyond(&panel->curve, c, ABOVE);
}

static struct deep deep_at(const struct graph *graph, enum quantity quantity, size_t c)
{
	struct deep deep = { 0 };

	for (size_t i = 0; i < graph->count; i++)
		if (graph->panels[i].series.quantity == quantity)
			deepen(&graph->panels[i], c, &deep);
	return deep;
}

/* What a strip's path may be about. */
enum strip_part { STRIP_QUIET, STRIP_UNKNOWN, STRIP_BELOW, STRIP_ABOVE, STRIP_BELOW_BEYOND,
		  STRIP_ABOVE_BEYOND, STRIP_PARTS };

static const char *const part_classes[STRIP_PARTS] = {
	[STRIP_QUIET] = "quiet",
	[STRIP_UNKNOWN] = "unknown",
	[STRIP_BELOW] = "below",
	[STRIP_ABOVE] = "above",
	[STRIP_BELOW_BEYOND] = "below beyond",
	[STRIP_ABOVE_BEYOND] = "above beyond",
};

/* How high that part is in a column, upwards; false when it is not there. */
static bool part_in(const struct deep *deep, enum strip_part part, double *height)
{
	bool beyond = part >= STRIP_BELOW_BEYOND;

	*height = 0;
	switch (part) {
	case STRIP_QUIET:
		return deep->judged && !deep->unknown;
	case STRIP_UNKNOWN:
		return deep->judged && deep->unknown;
	case STRIP_BELOW:
	case STRIP_BELOW_BEYOND:
		*height = -deep->below;
		return deep->below > 0 && deep->beyond[BELOW] == beyond;
	case STRIP_ABOVE:
	case STRIP_ABOVE_BEYOND:
		*height = deep->above;
		return deep->above > 0 && deep->beyond[ABOVE] == beyond;
	case STRIP_PARTS:
		break;
	}
	return false;
}

static bool write_part(FILE *out, const struct deep *deeps, size_t columns, enum strip_part part)
{
	struct pen pen = { .out = out };
	bool any = false;
	double height;

	for (size_t c = 0; c < columns; c++) {
		if (!part_in(&deeps[c], part, &height))
			continue;
		if (!any)
			pen = begin(out, part_classes[part]);
		any = true;
		move(&pen, 2 * (long)c, 0);
		for (; c < columns && part_in(&deeps[c], part, &height); c++) {
			long y = -lround(height * Y_SCALE);

			if (y != pen.y)
				line(&pen, 2 * (long)c, y);
			if (c + 1 == columns || !part_in(&deeps[c + 1], part, &height) ||
			    -lround(height * Y_SCALE) != y)
				line(&pen, 2 * (long)c + 2, y);
		}
		if (part >= STRIP_BELOW) {
			line(&pen, pen.x, 0);
			fputc('z', out);
		}
	}
	if (any)
		end(out);
	return any;
}

bool path_strip(FILE *out, const struct graph *graph, enum quantity quantity,
		struct strip_drawn *drawn)
{
	const struct curve *curve = &graph->panels[0].curve;
	struct deep *deeps = must_calloc(curve->columns, sizeof *deeps);
	bool judged = false;

	*drawn = (struct strip_drawn){ .night = has_any(curve, LAYER_NIGHT) };
	for (size_t c = 0; c < curve->columns; c++) {
		deeps[c] = deep_at(graph, quantity, c);
		judged |= deeps[c].judged;
	}
	if (judged) {
		write_nights(out, curve, -FAR, 2 * FAR);
		write_part(out, deeps, curve->columns, STRIP_QUIET);
		drawn->unknown = write_part(out, deeps, curve->columns, STRIP_UNKNOWN);
		for (int part = STRIP_BELOW; part < STRIP_PARTS; part++) {
			bool any = write_part(out, deeps, curve->columns, (enum strip_part)part);

			drawn->beyond |= any && part >= STRIP_BELOW_BEYOND;
		}
	}
	free(deeps);
	return judged;
}
