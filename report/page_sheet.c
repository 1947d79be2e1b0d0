/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The room sheet: all enclosures under one time axis, worst first; see page.h.
 */
#include "report/page.h"

#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/markup.h"

/* From the middle line to the edge of a strip, every morning the same: °C, °F, %.
 * Deeper straying is cut off there. */
static const double REACH_CELSIUS = 4, REACH_FAHRENHEIT = 8, REACH_HUMIDITY = 20;

enum { HALF_STRIP = 15 }; /* px, as in page.css */

static double reach_of(const struct page *page, enum quantity quantity)
{
	if (quantity == HUMIDITY)
		return REACH_HUMIDITY;
	return page->morning->base.conf->units == FAHRENHEIT ? REACH_FAHRENHEIT : REACH_CELSIUS;
}

static const char *unit_of(const struct page *page, enum quantity quantity)
{
	return quantity == HUMIDITY				   ? "%"
	       : page->morning->base.conf->units == FAHRENHEIT ? "°F"
								   : "°C";
}

/* Hatching that looks alike whatever a strip is stretched to. */
static void write_hatching(FILE *out, const struct page *page)
{
	static const char *const sides[SIDES] = { "below", "above" };

	fputs("<svg class=\"unseen\" aria-hidden=\"true\" width=\"0\" height=\"0\"><defs>\n", out);
	for (int quantity = 0; quantity < QUANTITIES; quantity++)
		for (int side = 0; side < SIDES; side++)
			fprintf(out, "<pattern id=\"%s%d\" width=\"5\" height=\"5\" "
				"patternUnits=\"userSpaceOnUse\" patternTransform=\"scale(2 %.2f) "
				"rotate(45)\"><rect class=\"%s pale\" width=\"5\" height=\"5\"/><rect class=\"%s\" "
				"width=\"2.4\" height=\"5\"/></pattern>\n",
				sides[side], quantity,
				reach_of(page, (enum quantity)quantity) * Y_SCALE / HALF_STRIP,
				sides[side], sides[side]);
	fputs("</defs></svg>\n", out);
}

/* What the signs mean, in sentences; only what is there. */
static void write_key(FILE *out, const struct page *page)
{
	char changeover[MEASURE_TEXT];

	fprintf(out, "<p class=\"key\">A bar stands above or hangs below its line where the air was out of its "
		"band; its height is how far, to %.0f %s and %.0f %%; what is deeper is cut off.", reach_of(page, TEMPERATURE),
		unit_of(page, TEMPERATURE), reach_of(page, HUMIDITY));
	if (page->seen.beyond)
		fputs(" <svg class=\"sample\" aria-hidden=\"true\" viewBox=\"0 0 26 12\"><path class=\"swatch\" "
		      "d=\"M1 11L7 1M7 11L13 1M13 11L19 1M19 11L25 1\"/></svg> Hatched: beyond the limits.", out);
	if (page->seen.unknown)
		fputs(" <i class=\"dots\"></i> Dotted: unknown.", out);
	if (page->seen.misting)
		fputs(" <i class=\"drop\"></i> A drop: misted.", out);
	if (page->seen.alert)
		fputs(" <i class=\"alert\"></i> A wedge: an alert.", out);
	if (page->seen.night)
		fprintf(out, " Shaded: night. For %s after each change of day and night both bands count.",
			show_duration(page->morning->base.conf->day.changeover, changeover));
	fputs("</p>\n", out);
}

static void write_strip(FILE *out, const struct page *page, const struct page_part *part,
			enum quantity quantity)
{
	double reach = reach_of(page, quantity) * Y_SCALE;

	if (!part->strips[quantity].length)
		return;
	fprintf(out, "<span class=\"strip\" data-quantity=\"%d\"><span class=\"unit\">%s</span>"
		"<span class=\"field\"><svg aria-hidden=\"true\"", (int)quantity, unit_of(page, quantity));
	page_view(out, page->morning->base.window, &page->columns, -reach, 2 * reach);
	fputc('>', out);
	page_copy(out, page, part->strips[quantity]);
	fputs("</svg>", out);
	page_copy(out, page, part->marks[quantity]);
	fputs("</span></span>", out);
}

static void write_words(FILE *out, const struct morning_line *line)
{
	char *words = line_words(line);

	fputs("<span class=\"words\"><span>", out);
	markup_text(out, words);
	fputs("</span><output data-reading></output></span>", out);
	free(words);
}

static void write_line(FILE *out, const struct page *page, const struct morning_line *line)
{
	const struct page_part *part = &page->parts[line->order];
	char *id = section_id(line->enclosure);
	char *link = must_print("#%s", id);

	fputs("<li><a", out);
	markup_attribute(out, "href", link);
	fputs("><span class=\"who\">", out);
	fputs("<bdi>", out);
	markup_text(out, shown_label(line->enclosure));
	fputs("</bdi>", out);
	if (strcmp(line->enclosure->label, line->enclosure->name) != 0) {
		fputs(" <small>", out);
		markup_text(out, line->enclosure->name);
		fputs("</small>", out);
	}
	fputs("</span>", out);
	write_words(out, line);
	fputs("<span class=\"strips\">", out);
	write_strip(out, page, part, TEMPERATURE);
	write_strip(out, page, part, HUMIDITY);
	fputs("</span></a></li>\n", out);
	free(link);
	free(id);
}

void sheet_write(FILE *out, const struct page *page)
{
	const struct morning *morning = page->morning;
	bool past = morning_is_past(morning);

	fputs("<section class=\"sheet\" aria-labelledby=\"sheet\">\n<h2 id=\"sheet\">The room sheet</h2>\n",
	      out);
	write_hatching(out, page);
	write_key(out, page);
	fputs("<div class=\"top\">", out);
	page_axis(out, page->times, page->time_count, morning->base.window);
	if (page->columns.columns)
		fprintf(out, "<input class=\"scrub\" type=\"range\" min=\"0\" max=\"%zu\" value=\"%zu\" "
			"aria-label=\"Read all enclosures at a time\">\n", page->columns.columns - 1,
			page->columns.columns - 1);
	fputs("</div>\n", out);
	for (size_t i = 0; i < morning->count; i++) {
		const struct morning_line *line = &morning->lines[i];

		if (i == 0 || line->need != morning->lines[i - 1].need)
			fprintf(out, "%s<h3>%s</h3>\n<ol class=\"need%d\">\n", i ? "</ol>\n" : "",
				need_title(line->need, past), (int)line->need);
		write_line(out, page, line);
	}
	fputs(morning->count ? "</ol>\n</section>\n" : "</section>\n", out);
}
