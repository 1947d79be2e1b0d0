/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One panel; see panel.h.  The one user of librrd for drawing.
 */
#include "report/panel.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <rrd.h>

#include "conf/memory.h"

static const char *const layer_names[LAYERS] = {
	[LAYER_LINE] = "line",
	[LAYER_LEAST] = "least",
	[LAYER_MOST] = "most",
	[LAYER_BAND_LOW] = "band_low",
	[LAYER_BAND_HIGH] = "band_high",
	[LAYER_UNDER_FROM] = "under_from",
	[LAYER_UNDER_TO] = "under_to",
	[LAYER_OVER_FROM] = "over_from",
	[LAYER_OVER_TO] = "over_to",
	[LAYER_UNKNOWN] = "unknown",
	[LAYER_NIGHT] = "night",
};

static const double BASELINE = 0.03; /* of the height: where unknown time is dotted */

/* ---- arguments ------------------------------------------------------------ */

static void add(struct arguments *arguments, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

static void add(struct arguments *arguments, const char *format, ...)
{
	va_list list;
	char text[200];

	va_start(list, format);
	vsnprintf(text, sizeof text, format, list);
	va_end(list);
	arguments->list = must_resize(arguments->list, arguments->count + 1,
				      sizeof *arguments->list);
	arguments->list[arguments->count++] = must_copy(text);
}

/* The canvas alone: no text, no axes, no border, nothing of librrd's own look. */
static void add_canvas(const struct panel *panel, struct arguments *out)
{
	static const char *const unseen[] = { "SHADEA", "SHADEB", "GRID", "MGRID", "AXIS",
					      "FRAME", "ARROW" };
	static const char *const bare[] = { "--only-graph", "--rigid", "--slope-mode",
					    "--disable-rrdtool-tag", "--no-legend" };

	add(out, "graph");
	add(out, "-");
	add(out, "--imgformat=%s", panel->svg ? "SVG" : "PNG");
	add(out, "--start=%.0f", floor(panel->window.from));
	add(out, "--end=%.0f", ceil(panel->window.to));
	add(out, "--step=%d", panel->curve->step);
	add(out, "--width=%d", panel->width);
	add(out, "--height=%d", panel->height);
	add(out, "--lower-limit=%.10g", panel->low);
	add(out, "--upper-limit=%.10g", panel->high);
	add(out, "--border=0");
	for (size_t i = 0; i < sizeof bare / sizeof *bare; i++)
		add(out, "%s", bare[i]);
	add(out, "--color=BACK#" COLOUR_PAGE);
	add(out, "--color=CANVAS#" COLOUR_PAGE);
	for (size_t i = 0; i < sizeof unseen / sizeof *unseen; i++)
		add(out, "--color=%s#00000000", unseen[i]);
}

/* A filled area from one layer up to another: librrd fills from zero, so an
 * unseen area carries the seen one. */
static void add_between(struct arguments *out, const char *from, const char *to,
			const char *colour)
{
	add(out, "CDEF:%s_span=%s,%s,-", from, to, from);
	add(out, "AREA:%s#00000000", from);
	add(out, "AREA:%s_span#%s::STACK", from, colour);
}

static void add_grid(const struct panel *panel, struct arguments *out)
{
	for (size_t i = 0; i < panel->value_count; i++)
		add(out, "HRULE:%.10g#00000012", panel->values[i].at);
	for (size_t i = 0; i < panel->time_count; i++)
		add(out, "VRULE:%.0f#00000012", panel->times[i].at);
}

static void add_reading(const struct panel *panel, struct arguments *out)
{
	add_between(out, "under_from", "under_to", COLOUR_BELOW);
	add_between(out, "over_from", "over_to", COLOUR_ABOVE);
	if (panel->curve->coarse) {
		add(out, "LINE0.6:least#" COLOUR_INK "A0");
		add(out, "LINE0.6:most#" COLOUR_INK "A0");
	}
	add(out, "LINE%s:line#" COLOUR_INK, panel->curve->coarse ? "1.1" : "1.4");
	add(out, "CDEF:baseline=unknown,%.10g,*",
	    panel->low + BASELINE * (panel->high - panel->low));
	add(out, "LINE1.6:baseline#" COLOUR_LIMIT "::dashes=1.6,4");
}

void panel_arguments(const struct panel *panel, struct arguments *out)
{
	*out = (struct arguments){ 0 };
	add_canvas(panel, out);
	for (int layer = 0; layer < LAYERS; layer++)
		add(out, "DEF:%s=cb//panel:%s:AVERAGE", layer_names[layer], layer_names[layer]);
	add_between(out, "band_low", "band_high", COLOUR_RIBBON);
	add(out, "CDEF:floor=night,%.10g,*", panel->low);
	add(out, "CDEF:ceiling=night,%.10g,*", panel->high);
	add_between(out, "floor", "ceiling", "0000000B");
	add_grid(panel, out);
	for (size_t i = 0; i < panel->limit_count; i++)
		add(out, "HRULE:%.10g#" COLOUR_LIMIT, panel->limits[i]);
	add_reading(panel, out);
	for (size_t i = 0; i < panel->alert_count; i++)
		add(out, "VRULE:%.0f#" COLOUR_INK "B0::dashes=2,3", panel->alerts[i]);
}

void arguments_clear(struct arguments *arguments)
{
	for (size_t i = 0; i < arguments->count; i++)
		free(arguments->list[i]);
	free(arguments->list);
	*arguments = (struct arguments){ 0 };
}

/* ---- drawing -------------------------------------------------------------- */

/* Exported by librrd and not declared in its header. */
typedef int fetch_callback(const char *filename, int function, time_t *start, time_t *end,
			   unsigned long *step, unsigned long *count, char ***names,
			   rrd_value_t **data);
int rrd_fetch_cb_register(fetch_callback *callback);

/* librrd's hook carries no argument, so the curve being drawn is kept here. */
static const struct curve *drawn;

/* Gives librrd all layers at once; it frees what it gets. */
static int give_layers(const char *filename, int function, time_t *start, time_t *end,
		       unsigned long *step, unsigned long *count, char ***names,
		       rrd_value_t **data)
{
	size_t rows = drawn->columns;

	(void)filename;
	(void)function;
	*start = drawn->from;
	*end = drawn->from + (long)rows * drawn->step;
	*step = (unsigned long)drawn->step;
	*count = LAYERS;
	*names = must_calloc(LAYERS, sizeof **names);
	/* One row more than asked: librrd reads an end that lies on a row. */
	*data = must_calloc((rows + 1) * LAYERS, sizeof **data);
	for (int layer = 0; layer < LAYERS; layer++) {
		(*names)[layer] = must_copy(layer_names[layer]);
		for (size_t row = 0; row <= rows; row++)
			(*data)[row * LAYERS + (size_t)layer] =
				row < rows ? drawn->layers[layer][row] : NAN;
	}
	return 0;
}

static const rrd_info_t *find_info(const rrd_info_t *info, const char *key, rrd_info_type_t type)
{
	while (info && (strcmp(info->key, key) != 0 || info->type != type))
		info = info->next;
	return info;
}

static bool take_picture(const rrd_info_t *info, struct picture *out)
{
	const rrd_info_t *image = find_info(info, "image", RD_I_BLO);
	const rrd_info_t *low = find_info(info, "value_min", RD_I_VAL);
	const rrd_info_t *high = find_info(info, "value_max", RD_I_VAL);
	const rrd_info_t *width = find_info(info, "graph_width", RD_I_CNT);
	const rrd_info_t *height = find_info(info, "graph_height", RD_I_CNT);

	if (!image || !low || !high || !width || !height)
		return false;
	*out = (struct picture){
		.bytes = must_calloc(image->value.u_blo.size, 1),
		.size = image->value.u_blo.size,
		.low = low->value.u_val,
		.high = high->value.u_val,
		.width = (int)width->value.u_cnt,
		.height = (int)height->value.u_cnt,
	};
	memcpy(out->bytes, image->value.u_blo.ptr, out->size);
	return true;
}

bool panel_draw(const struct panel *panel, struct picture *out, char **trouble)
{
	struct arguments arguments;
	rrd_info_t *info;
	bool good;

	panel_arguments(panel, &arguments);
	drawn = panel->curve;
	rrd_fetch_cb_register(give_layers);
	rrd_clear_error();
	info = rrd_graph_v((int)arguments.count, arguments.list);
	good = info && take_picture(info, out);
	if (!good)
		*trouble = must_print("librrd cannot draw the graph: %s",
				      rrd_test_error() ? rrd_get_error() : "it gave no picture");
	rrd_clear_error();
	if (info)
		rrd_info_free(info);
	drawn = NULL;
	arguments_clear(&arguments);
	return good;
}
