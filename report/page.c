/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page: one enclosure after another goes into a spool, then all are put in
 * order; so it takes no more memory for many enclosures than for few.  See
 * page.h.
 */
#include "report/page.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/markup.h"

static const char style[] = {
#include "report/page_css.inc"
};

static const char script[] = {
#include "report/page_js.inc"
};

void page_view(FILE *out, struct window window, const struct curve *curve, double top,
	       double height)
{
	double column = curve->step / 2.0;

	fprintf(out, " viewBox=\"%.10g %.0f %.10g %.0f\" preserveAspectRatio=\"none\"",
		(window.from - (double)curve->from) / column, top,
		(window.to - window.from) / column, height);
}

double page_percent(struct window window, double instant)
{
	return (instant - window.from) / (window.to - window.from) * 100;
}

void page_copy(FILE *out, const struct page *page, struct spooled part)
{
	char buffer[8192];
	size_t left = part.length;

	fseek(page->spool, part.at, SEEK_SET);
	while (left) {
		size_t got = fread(buffer, 1, left < sizeof buffer ? left : sizeof buffer, page->spool);

		if (!got)
			return; /* ferror says it at the end */
		fwrite(buffer, 1, got, out);
		left -= got;
	}
}

/* ---- into the spool --------------------------------------------------------------- */

static struct spooled begin_part(const struct page *page)
{
	return (struct spooled){ .at = ftell(page->spool) };
}

static void end_part(const struct page *page, struct spooled *part)
{
	part->length = (size_t)(ftell(page->spool) - part->at);
}

static void spool_strip(struct page *page, const struct graph *graph, enum quantity quantity,
			struct spooled *part)
{
	struct strip_drawn drawn;

	*part = begin_part(page);
	path_strip(page->spool, graph, quantity, &drawn);
	end_part(page, part);
	page->seen.night |= drawn.night;
	page->seen.beyond |= drawn.beyond;
	page->seen.unknown |= drawn.unknown;
}

/* Mistings on the strip of the humidity, as they are seen where it is judged; alerts on
 * that of their quantity. */
static void spool_marks(struct page *page, const struct account *account,
			const struct graph *graph, enum quantity quantity, struct spooled *part)
{
	*part = begin_part(page);
	for (size_t i = 0; i < account->count; i++) {
		const struct series_account *series = &account->series[i];
		const struct graph_panel *panel = &graph->panels[i];

		if (series->series.quantity != quantity)
			continue;
		size_t mistings = series->has_band && curve_shows_mistings(&panel->curve)
					  ? series->mistings.count
					  : 0;

		for (size_t n = 0; n < mistings; n++)
			fprintf(page->spool, "<i class=\"drop\" style=\"left:%.2f%%\"></i>",
				page_percent(account->window, series->mistings.list[n].at));
		for (size_t n = 0; n < panel->alert_count; n++)
			if (panel->alerts[n]->event == RAISED) {
				fprintf(page->spool, "<i class=\"alert\" style=\"left:%.2f%%\"></i>",
					page_percent(account->window, panel->alerts[n]->time));
				page->seen.alert = true;
			}
		page->seen.misting |= mistings > 0;
	}
	end_part(page, part);
}

static void spool_graph(struct page *page, const struct account *account,
			const struct graph *graph, struct page_part *part)
{
	const struct curve *curve = &graph->panels[0].curve;

	page->columns = (struct curve){ .from = curve->from, .step = curve->step,
					.columns = curve->columns };
	for (int quantity = 0; quantity < QUANTITIES; quantity++) {
		spool_strip(page, graph, (enum quantity)quantity, &part->strips[quantity]);
		if (part->strips[quantity].length)
			spool_marks(page, account, graph, (enum quantity)quantity,
				    &part->marks[quantity]);
	}
}

static void spool_account(struct page *page, const struct account *account,
			  struct page_part *part)
{
	const struct morning *morning = page->morning;
	struct graph_input input = {
		.account = account,
		.alerts = &morning->alerts.history,
		.units = morning->base.conf->units,
		.width = PAGE_COLUMNS + MARGIN_LEFT + MARGIN_RIGHT,
	};
	char *trouble = NULL;
	struct graph graph;
	bool planned;

	for (int place = 0; place < PLACES; place++)
		input.wanted[place] = true;
	planned = graph_plan(&input, &graph, &trouble);
	free(trouble); /* it has no probe: the section says so */
	if (planned)
		spool_graph(page, account, &graph, part);
	part->section = begin_part(page);
	section_write(page->spool, morning, account, planned ? &graph : NULL);
	end_part(page, &part->section);
	if (planned)
		graph_clear(&graph);
}

static void spool_all(struct page *page)
{
	struct morning *morning = page->morning;

	for (size_t i = 0; i < morning->base.conf->enclosure_count; i++) {
		struct account account;

		morning_account(morning, i, &account);
		spool_account(page, &account, &page->parts[i]);
		if (account.enclosure->is_room)
			page->room = morning_air(&account, morning->base.conf->units);
		account_clear(&account);
	}
	morning_sort(morning);
}

/* ---- the page --------------------------------------------------------------------- */

static void write_head(FILE *out, const struct page *page, const char *headline)
{
	const struct morning *morning = page->morning;

	fputs("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<title>", out);
	markup_text(out, headline);
	fputs("</title>\n"
	      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
	      "<meta name=\"color-scheme\" content=\"light dark\">\n"
	      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
	      "style-src 'unsafe-inline'; script-src 'unsafe-inline'\">\n<style>\n", out);
	fputs(style, out);
	fputs("</style>\n</head>\n", out);
	fprintf(out, "<body data-made=\"%.0f\" data-begin=\"%.3f\" data-end=\"%.3f\" data-from=\"%.0f\" data-step=\"%d\" "
		"data-columns=\"%zu\"%s data-zone=\"", morning->made, morning->base.window.from,
		morning->base.window.to, (double)page->columns.from, page->columns.step, page->columns.columns,
		morning->base.conf->units == FAHRENHEIT ? " data-fahrenheit=\"1\"" : "");
}

static long zone_at(double instant)
{
	time_t second = (time_t)instant;
	struct tm tm;

	localtime_r(&second, &tm);
	return tm.tm_gmtoff;
}

/* Instants from which on local time is so many seconds ahead of UTC: a change between
 * two days is searched for by quarters of an hour. */
static void write_zone(FILE *out, struct window window)
{
	const double quarter = 900, day = 86400;
	double at = floor(window.from / quarter) * quarter;
	long ahead = zone_at(at);

	fprintf(out, "%.0f:%ld ", at, ahead);
	while (at < window.to) {
		double step = zone_at(at + day) == ahead ? day : quarter;

		at += step;
		if (at < window.to && zone_at(at) != ahead) {
			ahead = zone_at(at);
			fprintf(out, "%.0f:%ld ", at, ahead);
		}
	}
	fputs("\">\n", out);
}

static void write_paragraph(FILE *out, const char *text)
{
	fputs("<p>", out);
	markup_text(out, text);
	fputs("</p>\n", out);
}

/* How many, and in second rank which. */
static void write_headline(FILE *out, const char *headline)
{
	static const char answer[] = " you: ";
	const char *rest = strstr(headline, answer);

	if (rest)
		rest += sizeof answer - sizeof ": ";
	if (!rest) {
		markup_text(out, headline);
		return;
	}
	char *first = must_print("%.*s", (int)(rest + 1 - headline), headline);

	markup_text(out, first);
	fputs(" <span>", out);
	markup_text(out, rest + 2);
	fputs("</span>", out);
	free(first);
}

static void write_answer(FILE *out, const struct page *page, const char *headline)
{
	const struct morning *morning = page->morning;
	char *span = morning_span(morning);
	char *others = morning_others(morning);

	fputs("<header>\n<h1>", out);
	write_headline(out, headline);
	fputs("</h1>\n", out);
	if (*others) {
		fputs("<p class=\"others\">", out);
		markup_text(out, others);
		fputs("</p>\n", out);
	}
	free(others);
	write_paragraph(out, span);
	free(span);
	if (page->room)
		write_paragraph(out, page->room);
}

/* It leads to its enclosure, when it is about one that there still is. */
static void write_alert(FILE *out, const struct morning *morning, const struct alert_life *life)
{
	const struct enclosure *about = find_enclosure(morning->base.conf, life->last.enclosure);
	char *text = morning_standing(morning, life);
	char *id = about ? section_id(about) : NULL;
	char *link = id ? must_print("#%s", id) : NULL;

	fprintf(out, "<li><b>%s</b> ", priority_word(life->last.priority));
	if (link) {
		fputs("<a", out);
		markup_attribute(out, "href", link);
		fputc('>', out);
	}
	markup_text(out, text);
	fputs(link ? "</a></li>\n" : "</li>\n", out);
	free(link);
	free(id);
	free(text);
}

static void write_standing(FILE *out, const struct morning *morning)
{
	if (!morning->standing_count) {
		write_paragraph(out, standing_title(morning));
		fputs("</header>\n", out);
		return;
	}
	fprintf(out, "<h2>%s</h2>\n<ul class=\"standing\">\n", standing_title(morning));
	for (size_t i = 0; i < morning->standing_count; i++)
		write_alert(out, morning, morning->standing[i]);
	fputs("</ul>\n</header>\n", out);
}

static void write_foot(FILE *out, const struct morning *morning)
{
	char *rows = rows_text(&morning->gathered, morning->base.window);

	fputs("<footer>\n", out);
	write_paragraph(out, rows);
	write_paragraph(out, morning_caution);
	fputs("</footer>\n", out);
	free(rows);
}

static void write_page(FILE *out, const struct page *page)
{
	const struct morning *morning = page->morning;
	char *headline = morning_headline(morning);

	write_head(out, page, headline);
	write_zone(out, morning->base.window);
	fputs("<main>\n", out);
	write_answer(out, page, headline);
	write_standing(out, morning);
	sheet_write(out, page);
	for (size_t i = 0; i < morning->count; i++)
		page_copy(out, page, page->parts[morning->lines[i].order].section);
	fputs("</main>\n", out);
	write_foot(out, morning);
	fputs("<script>\n", out);
	fputs(script, out);
	fputs("</script>\n</body>\n</html>\n", out);
	free(headline);
}

bool page_write(struct morning *morning, FILE *out)
{
	struct page page = { .morning = morning, .spool = tmpfile() };
	bool good;

	if (!page.spool) {
		fprintf(stderr, "warmside: no temporary file can be made: %s\n", strerror(errno));
		return false;
	}
	page.parts = must_calloc(morning->base.conf->enclosure_count, sizeof *page.parts);
	page.time_count = time_ticks(morning->base.window, PAGE_COLUMNS, TICK_APART, page.times);
	spool_all(&page);
	write_page(out, &page);
	good = !ferror(page.spool);
	if (!good)
		fprintf(stderr, "warmside: a temporary file cannot be written or read\n");
	fclose(page.spool);
	free(page.parts);
	free(page.room);
	return good;
}
