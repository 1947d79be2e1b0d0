/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Day, night and changeover; see daypart.h for what daylight saving does.
 */
#include "conf/daypart.h"

#include <math.h>
#include <time.h>

#include "conf/season.h"

/* What the local clock is ahead of UTC at an instant, s. */
static double offset_at(double instant)
{
	time_t second = (time_t)floor(instant);
	struct tm tm;

	localtime_r(&second, &tm);
	return (double)tm.tm_gmtoff;
}

/* The switch to a time of day on a local date.  Not by mktime(): where the clock
 * shows a time twice or never, what that gives depends on what it gave before. */
static double switch_on(int date, int second_of_day)
{
	double wall = 86400.0 * date + second_of_day;
	double before = offset_at(wall - 86400), after = offset_at(wall + 86400);
	double early = wall - before, late = wall - after;

	if (before == after)
		return early;
	/* It comes twice: the first of both. */
	if (offset_at(early) == before && offset_at(late) == after)
		return fmin(early, late);
	/* It comes once, or never: then as if the clock had not been changed. */
	return offset_at(late) == after ? late : early;
}

struct daypart_span daypart_at(const struct day *day, double instant)
{
	struct daypart_span span = { .part = DAY, .from = -INFINITY, .until = INFINITY };
	time_t second = (time_t)floor(instant);
	struct tm tm;

	tzset(); /* localtime_r() need not */
	localtime_r(&second, &tm);

	int today = civil_day(tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday);

	/* The last switch at or before the instant, and the first after it. */
	for (int date = today - 1; date <= today + 1; date++) {
		const struct { double at; enum daypart to; } switches[] = {
			{ switch_on(date, day->from), DAY },
			{ switch_on(date, day->to), NIGHT },
		};
		for (int i = 0; i < (day->from == day->to ? 1 : 2); i++) {
			if (switches[i].at <= instant && switches[i].at > span.from) {
				span.from = switches[i].at;
				span.part = switches[i].to;
			}
			if (switches[i].at <= instant && switches[i].to == DAY)
				span.date = date;
			if (switches[i].at > instant && switches[i].at < span.until)
				span.until = switches[i].at;
		}
	}
	double settled = span.from + (day->from == day->to ? 0 : day->changeover);

	if (instant < settled) {
		span.part = CHANGEOVER;
		span.until = fmin(span.until, settled);
	} else {
		span.from = settled;
	}
	return span;
}

double daypart_begin(const struct day *day, int date)
{
	tzset();
	return switch_on(date, day->from);
}

struct daypart_span cached_daypart(struct daypart_cache *cache, const struct day *day,
				   double instant)
{
	for (size_t i = 0; i < CACHED_SPANS; i++)
		if (cache->spans[i].from <= instant && instant < cache->spans[i].until)
			return cache->spans[i];
	cache->next = (cache->next + 1) % CACHED_SPANS;
	return cache->spans[cache->next] = daypart_at(day, instant);
}
