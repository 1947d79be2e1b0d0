/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ticks; see timeaxis.h.
 */
#include "report/timeaxis.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum { HOUR = 3600, DAY = 86400 };

static const double ZONE_STEP = 900;    /* s: zones are whole quarters of an hour apart */
static const double LEAST_APART = 0.6;  /* of a spacing, where the clocks change */

enum unit { MINUTES, HOURS, DAYS, MONTHS, YEARS };

static const struct spacing {
	enum unit unit;
	int count;
	double seconds;         /* about */
	const char *label, *below;
} spacings[] = {
	{ MINUTES, 5, 300, "%H:%M", "%a %-d %b" },
	{ MINUTES, 15, 900, "%H:%M", "%a %-d %b" },
	{ MINUTES, 30, 1800, "%H:%M", "%a %-d %b" },
	{ HOURS, 1, HOUR, "%H:%M", "%a %-d %b" },
	{ HOURS, 2, 2 * HOUR, "%H:%M", "%a %-d %b" },
	{ HOURS, 3, 3 * HOUR, "%H:%M", "%a %-d %b" },
	{ HOURS, 6, 6 * HOUR, "%H:%M", "%a %-d %b" },
	{ HOURS, 12, 12 * HOUR, "%H:%M", "%a %-d %b" },
	{ DAYS, 1, DAY, "%a %-d", "%B %Y" },
	{ DAYS, 2, 2 * DAY, "%a %-d", "%B %Y" },
	{ DAYS, 7, 7 * DAY, "%-d", "%B %Y" },
	{ MONTHS, 1, 30 * DAY, "%b", "%Y" },
	{ MONTHS, 3, 91 * DAY, "%b", "%Y" },
	{ YEARS, 1, 365 * DAY, "%Y", "" },
	{ YEARS, 10, 3652 * DAY, "%Y", "" },
};

static const struct spacing *spacing_for(double least)
{
	size_t count = sizeof spacings / sizeof *spacings;

	for (size_t i = 0; i < count; i++)
		if (spacings[i].seconds >= least)
			return &spacings[i];
	return &spacings[count - 1];
}

/* The whole day, month or year at or before the window's begin. */
static struct tm first_tick(const struct spacing *spacing, double from)
{
	time_t second = (time_t)floor(from);
	struct tm tm;

	localtime_r(&second, &tm);
	tm.tm_sec = 0;
	tm.tm_min = 0;
	tm.tm_hour = 0;
	tm.tm_isdst = -1;
	if (spacing->unit == DAYS && spacing->count == 7)
		tm.tm_mday -= (tm.tm_wday + 6) % 7; /* weeks begin on Mondays */
	if (spacing->unit >= MONTHS) {
		tm.tm_mday = 1;
		tm.tm_mon -= spacing->unit == YEARS ? tm.tm_mon : tm.tm_mon % spacing->count;
	}
	if (spacing->unit == YEARS)
		tm.tm_year -= tm.tm_year % spacing->count;
	return tm;
}

static void advance(const struct spacing *spacing, struct tm *tm)
{
	switch (spacing->unit) {
	case MINUTES:
	case HOURS:
		break; /* by clock_ticks */
	case DAYS:
		tm->tm_mday += spacing->count;
		break;
	case MONTHS:
		tm->tm_mon += spacing->count;
		break;
	case YEARS:
		tm->tm_year += spacing->count;
		break;
	}
	tm->tm_isdst = -1;
}

/* strftime with a format from the table above. */
static void write_tick(const char *format, const struct tm *tm, char text[TICK_TEXT])
{
	if (!strftime(text, TICK_TEXT, format, tm))
		text[0] = '\0';
}

/* True when there is room for no more. */
static bool add_tick(const struct spacing *spacing, time_t at, struct tick out[MOST_TICKS],
		     size_t *count)
{
	struct tick *tick = &out[(*count)++];
	struct tm shown;

	localtime_r(&at, &shown);
	tick->at = (double)at;
	write_tick(spacing->label, &shown, tick->label);
	write_tick(spacing->below, &shown, tick->below);
	return *count == MOST_TICKS;
}

/* Minutes and hours: the instants at which the clock on the wall shows a whole one.  When
 * clocks go back the same time comes twice, and is left out where that is too close. */
static size_t clock_ticks(const struct spacing *spacing, struct window window,
			  struct tick out[MOST_TICKS])
{
	double step = fmin(spacing->seconds, ZONE_STEP);
	double last = -INFINITY;
	size_t count = 0;

	for (double at = ceil(window.from / step) * step; at < window.to; at += step) {
		time_t second = (time_t)at;
		struct tm tm;

		localtime_r(&second, &tm);
		if ((tm.tm_hour * HOUR + tm.tm_min * 60) % (int)spacing->seconds ||
		    at - last < LEAST_APART * spacing->seconds)
			continue;
		last = at;
		if (add_tick(spacing, second, out, &count))
			break;
	}
	return count;
}

static size_t calendar_ticks(const struct spacing *spacing, struct window window,
			     struct tick out[MOST_TICKS])
{
	struct tm tm = first_tick(spacing, window.from);
	size_t count = 0;

	for (;; advance(spacing, &tm)) {
		time_t at = mktime(&tm);

		if ((double)at >= window.to)
			break;
		if ((double)at >= window.from && add_tick(spacing, at, out, &count))
			break;
	}
	return count;
}

size_t time_ticks(struct window window, double width, double apart, struct tick out[MOST_TICKS])
{
	const struct spacing *spacing = spacing_for((window.to - window.from) * apart / width);
	size_t count = spacing->unit <= HOURS ? clock_ticks(spacing, window, out)
					      : calendar_ticks(spacing, window, out);
	char last[TICK_TEXT] = "";

	for (size_t i = 0; i < count; i++)
		if (strcmp(out[i].below, last) == 0)
			out[i].below[0] = '\0';
		else
			memcpy(last, out[i].below, TICK_TEXT);
	return count;
}

size_t value_ticks(double low, double high, int wanted, struct tick out[MOST_TICKS])
{
	double least = (high - low) / wanted;
	double step = pow(10, floor(log10(least)));
	size_t count = 0;

	/* Of 1, 2, 5 and 10 the nearest on a scale of ratios. */
	if (least > step * sqrt(50))
		step *= 10;
	else if (least > step * sqrt(10))
		step *= 5;
	else if (least > step * sqrt(2))
		step *= 2;
	for (double n = ceil(low / step - 1e-9); n * step <= high + step * 1e-9 && count < MOST_TICKS;
	     n++) {
		out[count].at = n * step;
		snprintf(out[count].label, TICK_TEXT, "%.*f", step < 0.99 ? 1 : 0, n * step + 0.0);
		out[count++].below[0] = '\0';
	}
	return count;
}

char *brief_instant(double instant, struct window window, char buf[TICK_TEXT])
{
	double span = window.to - window.from;
	time_t second = (time_t)floor(instant);
	struct tm tm;

	localtime_r(&second, &tm);
	write_tick(span <= 25 * HOUR ? "%H:%M" : span <= 100 * DAY ? "%-d %b %H:%M" : "%-d %b %Y",
		   &tm, buf);
	return buf;
}
