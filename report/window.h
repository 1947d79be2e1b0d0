/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * --from and --to -> the span of time [from, to) a report is about.
 */
#ifndef WARMSIDE_REPORT_WINDOW_H
#define WARMSIDE_REPORT_WINDOW_H

struct window {
	double from, to;        /* s since the epoch; from < to; `to` itself is outside */
};

/* Each text is ISO 8601, epoch seconds, or an at-style time as rrdtool takes
 * it ("-2d", "midnight yesterday", "08:00 20260105", "end-6h"); eight digits are a
 * date.  NULL stands for the default: `to` is the last full minute before
 * now, `from` is 24 hours before `to`.  Relative at-style times count from
 * librrd's own reading of the clock.  Returns NULL and fills *out, or returns
 * one sentence (the caller frees it). */
char *window_parse(const char *from, const char *to, double now, struct window *out);

#endif
