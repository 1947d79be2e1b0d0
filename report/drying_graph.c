/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The sheet of an enclosure's dryings: its head, its plot and what the signs mean.
 */
#include "report/drying_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/drying.h"
#include "report/drying_plot.h"
#include "report/paint.h"
#include "report/panel.h"

enum {
	LEFT = 64, RIGHT = 168, OVER = 104, UNDER = 84, /* px around the plot */
	WIDE = 1200, TALL = 620, /* px: the sheet, unless --size says otherwise */
	LEAST = 60,             /* px: a plot is no smaller */
	TITLE_BASE = 36, FINDING_BASE = 62, WINDOW_BASE = 84,
	CAPTION_STEP = 14, SMALLEST = 6, /* px */
};

static const struct font TITLE = { .size = 21, .bold = true, .colour = COLOUR_INK };
static const struct font FINDING = { .size = 15, .colour = COLOUR_INK };

/* Smaller, where it is needed for a text to fit. */
static struct font fitting(struct font font, const char *text, double width)
{
	while (font.size > SMALLEST && sheet_text_width(font, text) > width)
		font.size -= 0.5;
	return font;
}

static char *finding_of(const struct drying_summary *s)
{
	char constant[DRYING_WORDS], edge[DRYING_WORDS], dry[DRYING_WORDS], floor[MEASURE_TEXT];
	char *first, *all;

	if (!s->mistings)
		return must_copy("No misting was seen in this time: there is nothing to draw.");
	if (!s->time_constant.count)
		return must_print("%zu misting%s, and no drying that could be fitted", s->mistings,
				  s->mistings == 1 ? "" : "s");
	first = must_print("Time constant %s, floor %s",
			   drying_hours(true, s->time_constant.median, constant),
			   show_value(s->floor_median, HUMIDITY, CELSIUS, floor));
	if (!s->edge.spread.count)
		return first;
	if (isinf(s->edge.spread.median))
		all = must_print("%s; %zu of %zu dryings came down to the band's edge", first,
				 s->edge.seen, s->edge.watched);
	else
		all = must_print("%s; at the band's edge after %s%s%s", first,
				 drying_hours(true, s->edge.spread.median, edge),
				 s->edge.has_dry ? ", one in four within " : "",
				 s->edge.has_dry ? drying_hours(true, s->edge.dry, dry) : "");
	free(first);
	return all;
}

static void paint_head(struct sheet *sheet, const struct drying_view *view)
{
	const struct drying_entry *entry = &view->list[0];
	const struct window *window = &view->request->window;
	double width = sheet->width - LEFT - SHEET_EDGE;
	char from[MEASURE_TEXT], to[MEASURE_TEXT];
	char *phrase = series_phrase((struct series){ .place = entry->dryings.place, .quantity = HUMIDITY });
	char *about = must_print("%s; %zu misting%s from %s to %s, %zu drying%s fitted", phrase,
				 entry->summary.mistings, entry->summary.mistings == 1 ? "" : "s",
				 show_instant_local(window->from, from),
				 show_instant_local(window->to, to), entry->summary.fitted,
				 entry->summary.fitted == 1 ? "" : "s");

	sheet_text(sheet, LEFT, TITLE_BASE, AT_START, fitting(TITLE, sheet->title, width),
		   sheet->title);
	sheet_text(sheet, LEFT, FINDING_BASE, AT_START, fitting(FINDING, sheet->description, width),
		   sheet->description);
	sheet_text(sheet, LEFT, WINDOW_BASE, AT_START, fitting(paint_quiet, about, width), about);
	free(about);
	free(phrase);
}

static void paint_caption(struct sheet *sheet)
{
	static const char *const lines[] = {
		"Thin: each drying measured, as the humidity its vapour would be at its mean "
		"temperature.",
		"Dotted: the curve fitted to it. Ribbon: the range wanted, paler where by day or by "
		"night only.",
	};
	double width = sheet->width - 2 * SHEET_EDGE;
	struct font font = fitting(fitting(paint_small, lines[0], width), lines[1], width);
	double needed = fmax(sheet_text_width(font, lines[0]), sheet_text_width(font, lines[1]));

	for (int i = 0; i < 2; i++)
		sheet_text(sheet, fmin(LEFT, sheet->width - SHEET_EDGE - needed),
			   sheet->height - 9 - CAPTION_STEP * (1 - i), AT_START, font, lines[i]);
}

/* The band and the limit as they are at the window's end. */
static void take_wanted(const struct ribbon *ribbon, struct window window, struct drying_plot *plot)
{
	const struct band_record *last = ribbon_ends(ribbon, window).last;

	plot->has_band = last->has_band;
	plot->day = last->day;
	plot->night = last->night;
	plot->has_limit = last->has_limits;
	plot->limit = last->limits.low;
}

static void paint(const struct drying_view *view, struct sheet *sheet, const struct bins *bins)
{
	const struct drying_entry *entry = &view->list[0];
	struct drying_plot plot = {
		.dryings = &entry->dryings, .summary = &entry->summary, .bins = bins,
		.sheet = sheet, .left = LEFT, .top = OVER, .width = sheet->width - LEFT - RIGHT,
		.height = sheet->height - OVER - UNDER,
	};

	if (entry->dryings.find.present)
		take_wanted(&entry->dryings.find.past.ribbon, view->request->window, &plot);
	paint_head(sheet, view);
	if (!entry->summary.mistings) /* axes without a line would look like an answer */
		return;
	drying_plot_fit(&plot);
	drying_plot_paint(&plot);
	paint_caption(sheet);
}

/* All of the window again: what is saved has no rows with it. */
static void read_bins(const struct drying_view *view, struct record *record, struct bins *out)
{
	const struct request *request = view->request;
	enum place place = view->list[0].dryings.place;

	record_read(request->conf, view->only, request->window, record);

	const struct series_rows *humidity = record_series(record, place, HUMIDITY);
	const struct series_rows *temperature = record_series(record, place, TEMPERATURE);

	if (humidity && temperature)
		bins_make(humidity, temperature, request->window, DRYING_STEP, out);
}

/* NULL, or why there is no picture. */
static char *why_not(const struct drying_view *view, int width, int height)
{
	const struct drying_entry *entry = &view->list[0];

	if (!entry->has_place)
		return must_print("no humidity is measured in %s", view->only->name);
	if (width - LEFT - RIGHT < LEAST || height - OVER - UNDER < LEAST)
		return must_print("%dx%d is too small for this picture; --size needs %dx%d at least",
				  width, height, LEFT + RIGHT + LEAST, OVER + UNDER + LEAST);
	return NULL;
}

unsigned char *drying_paint(const struct drying_view *view, bool svg, size_t *size,
			    char **trouble)
{
	int width = view->request->width ? view->request->width : WIDE;
	int height = view->request->height ? view->request->height : TALL;
	struct bins bins = { 0 };
	struct record record;
	struct sheet sheet;
	unsigned char *bytes;
	char *name;

	*trouble = why_not(view, width, height);
	if (*trouble)
		return NULL;
	sheet_begin(&sheet, width, height, COLOUR_PAGE);
	name = enclosure_title(view->only);
	sheet.title = must_print("%s · how it dries", name);
	free(name);
	sheet.description = finding_of(&view->list[0].summary);
	read_bins(view, &record, &bins);
	paint(view, &sheet, &bins);
	bytes = svg ? sheet_to_svg(&sheet, size, trouble) : sheet_to_png(&sheet, size, trouble);
	sheet_clear(&sheet);
	bins_clear(&bins);
	record_clear(&record);
	return bytes;
}
