/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The days before a window; see earlier.h.
 *
 * Days are the calendar's, in local time, so that "the same hours" are the
 * same on the wall after a night on which the clocks changed too.  A window
 * that such a night makes an hour shorter or longer is compared as it is.
 */
#include "report/earlier.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "conf/memory.h"
#include "conf/season.h"
#include "report/totals.h"

enum { DAY_SECONDS = 86400 };
static const double KNOWN_SHARE = 0.5; /* of a window that counts */

/* ---- which windows -------------------------------------------------------- */

/* What the clock on the wall showed so many days before. */
static double days_before(double instant, int days)
{
	time_t second = (time_t)floor(instant);
	double fraction = instant - (double)second;
	struct tm local;

	localtime_r(&second, &local);
	local.tm_mday -= days;
	local.tm_isdst = -1;
	return (double)mktime(&local) + fraction;
}

static double wall_clock(double instant)
{
	time_t second = (time_t)floor(instant);
	struct tm local;

	localtime_r(&second, &local);
	return instant + (double)local.tm_gmtoff;
}

/* How many days a window takes, begun ones included: neither a day of 25 h nor
 * 24 h that end an hour later on the wall are two. */
static int days_in(struct window window)
{
	double elapsed = window.to - window.from;
	double shown = wall_clock(window.to) - wall_clock(window.from);

	return (int)fmax(1, ceil(fmin(elapsed, shown) / DAY_SECONDS));
}

/* The windows to compare with, the latest first; returns how many.  Each ends
 * where the one after it begins at the latest: nothing counts twice.  One whose
 * hours the clock did not show on that day is left out. */
static size_t windows_before(struct window window, struct window out[EARLIER_DAYS])
{
	int days = days_in(window);
	int most = days > 1 ? 1 : EARLIER_DAYS;
	double end = window.from;
	size_t count = 0;

	for (int i = 1; i <= most; i++) {
		struct window before = { days_before(window.from, i * days),
					 fmin(days_before(window.to, i * days), end) };

		if (before.from >= before.to)
			continue;
		out[count++] = before;
		end = before.from;
	}
	return count;
}

/* ---- what they were like -------------------------------------------------- */

static void add_window(const struct series_rows *rows, struct window window,
		       struct earlier *earlier)
{
	struct totals totals = totals_of(rows, window, earlier->has_band);

	if (!totals.known || totals.unknown > (1 - KNOWN_SHARE) * (window.to - window.from))
		return;
	earlier->list[earlier->windows++] = window;
	earlier->mean += totals.mean;
	earlier->low += totals.low;
	earlier->high += totals.high;
}

/* The part of the rows that lies in the window is added; they stay whole. */
static void add_part(const struct series_rows *rows, struct window window, struct earlier *earlier)
{
	size_t first = 0, end;

	while (first < rows->count && rows->list[first].to <= window.from)
		first++;
	for (end = first; end < rows->count && rows->list[end].from < window.to; end++)
		;
	if (first == end)
		return;

	struct series_rows part = { .series = rows->series, .count = end - first,
				    .list = must_calloc(end - first, sizeof *part.list) };

	memcpy(part.list, rows->list + first, part.count * sizeof *part.list);
	rows_cut(&part, window);
	add_window(&part, window, earlier);
	free(part.list);
}

static void add_record(const struct record *record, struct window window, struct earlier *out)
{
	for (size_t i = 0; i < record->count; i++)
		add_part(&record->series[i], window, &out[i]);
}

static void finish(struct earlier *earlier)
{
	if (earlier->windows == 0) {
		*earlier = (struct earlier){ 0 };
		return;
	}
	earlier->mean /= (double)earlier->windows;
	earlier->low /= (double)earlier->windows;
	earlier->high /= (double)earlier->windows;
}

void earlier_read(const struct conf *conf, const struct enclosure *enclosure, struct window window,
		  struct earlier out[MAX_SERIES])
{
	struct series series[MAX_SERIES];
	size_t series_count = enclosure_series(conf, enclosure, series);
	struct window windows[EARLIER_DAYS];
	size_t count = windows_before(window, windows);
	struct record all = { 0 };

	memset(out, 0, MAX_SERIES * sizeof *out);
	for (size_t i = 0; i < series_count; i++)
		out[i].has_band = rule_ever_has_band(
			&enclosure->places[series[i].place].rules[series[i].quantity]);
	/* All at once, because reading costs more than reckoning.  Only when the
	 * oldest window has no minutes any more is each read by itself, or the later
	 * ones would be read in rows as coarse as its. */
	if (count > 0)
		record_read(conf, enclosure,
			    (struct window){ windows[count - 1].from, windows[0].to }, &all);
	for (size_t i = 0; i < count; i++) {
		struct record one;

		if (all.row_size <= ROW_MINUTE) {
			add_record(&all, windows[i], out);
			continue;
		}
		record_read(conf, enclosure, windows[i], &one);
		add_record(&one, windows[i], out);
		record_clear(&one);
	}
	record_clear(&all);
	for (size_t i = 0; i < series_count; i++)
		finish(&out[i]);
}
