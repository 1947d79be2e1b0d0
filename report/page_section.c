/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * One enclosure on the page: in words, its table, its graphs; see page.h.
 */
#include "report/page.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/gather.h"
#include "report/markup.h"

static const double LABEL_APART = 13; /* % of the width between two labels */
static const double NARROW_APART = 30; /* % on a phone: nearer ones are left out there */
enum { LISTED_EXCURSIONS = 60 };     /* about as many are told one by one */

static const double LAST_TICK = 94;   /* %: from here on a tick's words end at it */
static const double EDGE = 30;        /* %: nearer than that a label leans inwards */

char *section_id(const struct enclosure *enclosure)
{
	char *id = must_print("e-%s", enclosure->name);

	/* An identifier holds no blank; names hold no dot. */
	for (char *at = id; *at; at++)
		if (*at == ' ')
			*at = '.';
	return id;
}

/* ---- in words ------------------------------------------------------------------- */

static void write_heading(FILE *out, const struct account *account)
{
	const struct enclosure *enclosure = account->enclosure;
	char *id = section_id(enclosure);

	fputs("<section", out);
	markup_attribute(out, "id", id);
	fprintf(out, " tabindex=\"-1\" aria-labelledby=\"h%s\">\n<a class=\"back\" href=\"#sheet\">"
		"room sheet</a>\n<h2 id=\"h%s\">", id + 1, id + 1);
	fputs("<bdi>", out);
	markup_text(out, shown_label(enclosure));
	fputs("</bdi>", out);
	fputs(" <small>", out);
	if (strcmp(enclosure->label, enclosure->name) != 0)
		markup_text(out, enclosure->name);
	if (enclosure->species) {
		fputs(strcmp(enclosure->label, enclosure->name) != 0 ? " · " : "", out);
		markup_text(out, enclosure->species->name);
	}
	if (account->seasons) {
		fputs(strcmp(enclosure->label, enclosure->name) != 0 || enclosure->species ? " · "
											   : "", out);
		markup_text(out, account->seasons);
	}
	if (enclosure->has_build)
		fprintf(out, " · %s", build_word(enclosure->build));
	fputs("</small></h2>\n", out);
	free(id);
}

static void write_sentence(FILE *out, const char *class, const char *text)
{
	fprintf(out, "<p class=\"%s\">", class);
	markup_text(out, text);
	fputs(".</p>\n", out);
}

static void write_note(void *out, const char *text)
{
	write_sentence(out, "note", text);
}

static void write_standing(FILE *out, const struct morning *morning,
			   const struct account *account)
{
	for (size_t i = 0; i < account->standing_count; i++) {
		char *text = morning_standing(morning, account->standing[i]);
		char *all = must_print("Alert: %s", text);

		write_sentence(out, "note", all);
		free(all);
		free(text);
	}
	account_notes(account, write_note, out);
}

/* ---- excursions ------------------------------------------------------------------- */

static void write_excursion(FILE *out, const struct morning *morning,
			    const struct series_account *series, const struct excursion *e)
{
	struct window window = morning->base.window;
	bool now = e->lasts && !morning_is_past(morning);
	char from[TICK_TEXT], to[TICK_TEXT], span[MEASURE_TEXT], worst[MEASURE_TEXT];
	char *phrase = series_phrase(series->series);

	fprintf(out, "<li>%s %s its band from %s to %s, %s", phrase, side_word(e->side),
		brief_instant(e->from, window, from), now ? "now" : brief_instant(e->to, window, to),
		show_duration(e->to - e->from, span));
	if (!isnan(e->worst))
		fprintf(out, ", %s %s", e->side == BELOW ? "lowest" : "highest",
			show_value(e->worst, series->series.quantity, morning->base.conf->units, worst));
	fprintf(out, "%s</li>\n", e->beyond_limits ? ", beyond its limits" : "");
	free(phrase);
}

/* Those shorter than this are told together. */
static bool is_told(const struct excursion *e, double shortest)
{
	return e->to - e->from >= shortest || (shortest <= SHORT_SECONDS && e->beyond_limits) ||
	       e->lasts;
}

static size_t count_told(const struct account *account, double shortest)
{
	size_t told = 0;

	for (size_t i = 0; i < account->count; i++)
		for (size_t n = 0; n < account->series[i].excursions.count; n++)
			told += is_told(&account->series[i].excursions.list[n], shortest);
	return told;
}

/* So that the list can be read: over a year there are thousands. */
static double shortest_told(const struct account *account)
{
	static const double steps[] = { SHORT_SECONDS, 1800, 3600, 3 * 3600, 6 * 3600, 12 * 3600,
					86400, 2 * 86400, 7 * 86400 };
	size_t i = 0;

	while (i + 1 < sizeof steps / sizeof *steps &&
	       count_told(account, steps[i]) > LISTED_EXCURSIONS)
		i++;
	return steps[i];
}

static void write_excursions(FILE *out, const struct morning *morning,
			     const struct account *account)
{
	double shortest = shortest_told(account), seconds = 0;
	size_t count = 0, folded = 0;
	char text[MEASURE_TEXT], bound[MEASURE_TEXT];

	for (size_t i = 0; i < account->count; i++)
		count += account->series[i].excursions.count;
	if (!count)
		return;
	fprintf(out, "<details><summary>%zu excursion%s</summary><ul>\n", count,
		count == 1 ? "" : "s");
	for (size_t i = 0; i < account->count; i++) {
		const struct excursions *all = &account->series[i].excursions;

		for (size_t n = 0; n < all->count; n++)
			if (is_told(&all->list[n], shortest)) {
				write_excursion(out, morning, &account->series[i], &all->list[n]);
			} else {
				folded++;
				seconds += all->list[n].to - all->list[n].from;
			}
	}
	if (folded)
		fprintf(out, "<li>%zu shorter than %s, %s in all</li>\n", folded,
			show_duration(shortest, bound), show_duration(seconds, text));
	fputs("</ul></details>\n", out);
}

/* ---- graphs ----------------------------------------------------------------------- */

/* Which way a label leans, so that it stays within the picture. */
static const char *lean(double percent)
{
	return percent < EDGE ? " from" : percent > 100 - EDGE ? " to" : "";
}

static double height_percent(const struct graph_panel *panel, double value)
{
	return (panel->high - value) / (panel->high - panel->low) * 100;
}

static void write_extreme(FILE *out, const struct graph *graph, const struct graph_panel *panel,
			  const struct extreme *extreme, bool least)
{
	enum quantity quantity = panel->series.quantity;
	double x = page_percent(graph->window, extreme->at);
	double y = height_percent(panel, in_units(extreme->value, quantity, graph->units));
	char value[MEASURE_TEXT], at[TICK_TEXT];

	fprintf(out, "<i class=\"dot\" style=\"left:min(%.2f%%,100%% - 3px);top:%.1f%%\"></i>"
		"<span class=\"%s%s\" style=\"left:%.2f%%;top:%.1f%%\">%s %s, %s</span>\n",
		x, y, least ? "least" : "most", lean(x), x, y, least ? "lowest" : "highest",
		show_value(extreme->value, quantity, graph->units, value),
		brief_instant(extreme->at, graph->window, at));
}

/* Where the next label may stand. */
struct room_left {
	double wide, narrow;    /* % of the width; on a phone */
};

/* A mark above a picture; its words only where there is room for them. */
static void write_mark(FILE *out, const struct graph *graph, const char *class, const char *word,
		       double instant, struct room_left *left)
{
	double x = page_percent(graph->window, instant);
	char at[TICK_TEXT];

	fprintf(out, "<i class=\"%s\" style=\"left:%.2f%%\"></i>", class, x);
	if (x < left->wide)
		return;
	fprintf(out, "<span class=\"mark%s%s\" style=\"left:%.2f%%\">%s %s</span>\n", lean(x),
		x < left->narrow ? " spare" : "", x, word,
		brief_instant(instant, graph->window, at));
	left->wide = x + LABEL_APART;
	if (x >= left->narrow)
		left->narrow = x + NARROW_APART;
}

static void write_marks(FILE *out, const struct graph *graph, const struct graph_panel *panel,
			const struct mistings *mistings)
{
	struct room_left left = { 0, 0 };

	for (size_t i = 0; i < panel->alert_count; i++) {
		enum event event = panel->alerts[i]->event;

		write_mark(out, graph, event == CLEARED ? "alert over" : "alert",
			   event == RAISED	    ? "alert"
						: event == WORSENED ? "worse"
								    : "over",
			   panel->alerts[i]->time, &left);
	}
	if (panel->alert_count)
		left = (struct room_left){ 100, 100 }; /* alerts matter more */
	for (size_t i = 0; curve_shows_mistings(&panel->curve) && i < mistings->count; i++)
		write_mark(out, graph, "drop", "misted", mistings->list[i].at, &left);
}

static const char *unit_after(const struct graph_panel *panel, enum units units)
{
	return panel->series.quantity == HUMIDITY ? " %" : units == FAHRENHEIT ? " °F" : " °C";
}

static void write_values(FILE *out, const struct graph *graph, const struct graph_panel *panel)
{
	for (size_t i = 0; i < panel->value_count; i++)
		fprintf(out, "<span class=\"value\" style=\"top:%.1f%%\">%s%s</span>",
			height_percent(panel, panel->values[i].at), panel->values[i].label,
			i + 1 < panel->value_count ? "" : unit_after(panel, graph->units));
	fputc('\n', out);
}

/* As they are at the end, where the words stand. */
static void write_limits(FILE *out, const struct graph *graph, const struct graph_panel *panel)
{
	for (int layer = LAYER_LIMIT_LOW; layer <= LAYER_LIMIT_HIGH; layer++) {
		double shown = panel->curve.layers[layer][panel->curve.columns - 1];

		if (shown > panel->low && shown < panel->high)
			fprintf(out, "<span class=\"edge\" style=\"top:%.1f%%\">limit %g%s</span>\n",
				height_percent(panel, shown), round(shown * 10) / 10,
				unit_after(panel, graph->units));
	}
}

static void write_caption(FILE *out, const struct graph *graph, const struct graph_panel *panel)
{
	char *phrase = series_phrase(panel->series);
	char *wanted = panel_wanted(panel, WANTED_ALL, graph->units);

	fputs("<figcaption><b>", out);
	markup_text(out, phrase);
	fputs("</b> <span>", out);
	markup_text(out, wanted);
	fputs("</span> <output data-reading></output></figcaption>\n", out);
	free(phrase);
	free(wanted);
}

static void write_grid(FILE *out, const struct graph *graph)
{
	for (size_t i = 0; i < graph->time_count; i++)
		fprintf(out, "<i class=\"hour\" style=\"left:%.2f%%\"></i>",
			page_percent(graph->window, graph->times[i].at));
	fputc('\n', out);
}

static void write_plot(FILE *out, const struct graph *graph, const struct account *account,
		       size_t i)
{
	const struct graph_panel *panel = &graph->panels[i];
	const struct series_account *series = &account->series[i];
	char *finding = series_finding(account, series, graph->units);
	char *phrase = series_phrase(series->series);
	char *name = must_print("%s, %s: %s", shown_label(account->enclosure), phrase, finding);

	fputs("<figure>\n", out);
	write_caption(out, graph, panel);
	fprintf(out, "<div class=\"plot%s%s\" data-high=\"%.4f\" data-quantity=\"%s\" "
		"data-place=\"%s\"%s>\n",
		series->has_band ? "" : " plain",
		panel->alert_count + series->mistings.count ? " marked" : "", panel->high,
		quantity_word(panel->series.quantity), place_phrase(panel->series.place),
		series->has_band ? " data-band=\"1\"" : "");
	write_grid(out, graph);
	fputs("<svg role=\"img\"", out);
	page_view(out, graph->window, &panel->curve, 0,
		  ceil((panel->high - panel->low) * Y_SCALE));
	markup_attribute(out, "aria-label", name);
	fputc('>', out);
	path_plot(out, panel);
	fputs("</svg>\n", out);
	write_values(out, graph, panel);
	write_limits(out, graph, panel);
	if (panel->has_extremes) {
		write_extreme(out, graph, panel, &panel->least, true);
		write_extreme(out, graph, panel, &panel->most, false);
	} else {
		fputs("<span class=\"nothing\">no reading in this time</span>\n", out);
	}
	write_marks(out, graph, panel, &series->mistings);
	fputs("</div></figure>\n", out);
	free(finding);
	free(phrase);
	free(name);
}

void page_axis(FILE *out, const struct tick *times, size_t count, struct window window)
{
	size_t kept = 0; /* on a phone there is room for every other one: this one's turn */

	for (size_t i = 0; i < count; i++)
		if (times[i].below[0])
			kept = i;
	fputs("<div class=\"axis\" aria-hidden=\"true\">", out);
	for (size_t i = 0; i < count; i++)
		fprintf(out, "<span class=\"%s%s\" style=\"left:%.2f%%\">%s<br>%s</span>",
			page_percent(window, times[i].at) > LAST_TICK ? "to" : "",
			(i + kept) % 2 ? " spare" : "", page_percent(window, times[i].at),
			times[i].label, times[i].below);
	fputs("</div>\n", out);
}

static void write_scrub(FILE *out, const struct account *account, const struct graph *graph)
{
	fprintf(out, "<input class=\"scrub\" type=\"range\" min=\"0\" max=\"%zu\" value=\"%zu\"",
		graph->panels[0].curve.columns - 1, graph->panels[0].curve.columns - 1);
	char *name = must_print("Read %s at a time", shown_label(account->enclosure));

	markup_attribute(out, "aria-label", name);
	fputs(">\n", out);
	free(name);
}

void section_write(FILE *out, const struct morning *morning, const struct account *account,
		   const struct graph *graph)
{
	enum units units = morning->base.conf->units;

	write_heading(out, account);
	if (account->count) {
		char *finding = account_finding(account, NULL, units);

		write_sentence(out, "finding", finding);
		free(finding);
	}
	account_changes(account, units, write_note, out);
	write_standing(out, morning, account);
	if (!graph) {
		fputs("</section>\n", out);
		return;
	}
	bool calm = account->need >= NEED_NOTHING; /* then it is there for whoever asks */

	if (calm)
		fputs("<details class=\"calm\"><summary>Figures and graphs</summary>\n", out);
	section_table(out, account, units);
	write_excursions(out, morning, account);
	fputs("<div class=\"plots\">\n", out);
	for (size_t i = 0; i < graph->count; i++)
		write_plot(out, graph, account, i);
	page_axis(out, graph->times, graph->time_count, account->window);
	write_scrub(out, account, graph);
	fputs(calm ? "</div>\n</details>\n</section>\n" : "</div>\n</section>\n", out);
}
