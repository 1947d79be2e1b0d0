/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From what a probe read over one or two salts to the correction the configuration takes.
 * Pure.
 */
#ifndef WARMSIDE_REPORT_SALT_LINE_H
#define WARMSIDE_REPORT_SALT_LINE_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/model.h"

enum { SALT_TESTS = 2, SALT_LINE = 40 };

/* A test in one salt, %. */
struct salt_point {
	double read, actual;
};

enum salt_line_trouble {
	LINE_GOOD,
	LINE_DOUBTFUL,          /* usable, but its slope is far from 1 */
	LINE_CLOSE,             /* the two salts lie too near each other */
	LINE_BROKEN,            /* more than the configuration takes */
};

struct salt_line {
	char text[SALT_LINE];   /* "+2.1 %" or "35.1=32.8 73.0=75.3", the lower one first */
	struct correction correction; /* what the configuration makes of that text */
};

/* With one point all readings are shifted, with two (of different readings) a straight line
 * goes through them, as
 *
 *   actual = low actual + (read - low read) (high actual - low actual) / (high read - low read) */
struct correction salt_correction(const struct salt_point *points, size_t count);

/* The same in words, from points to one decimal: as fine as such a test is.  *out is filled in
 * when it is LINE_GOOD or LINE_DOUBTFUL. */
enum salt_line_trouble salt_line_make(const struct salt_point *points, size_t count,
				      struct salt_line *out);

/* The same from one point that keeps a slope known before, as two points of that line: the test's
 * own and one up to 40 % away towards the other end.  `slope` is one the configuration takes. */
enum salt_line_trouble salt_line_shift(const struct salt_point *point, double slope,
				       struct salt_line *out);

/* Farther from 1 than a good probe has it. */
bool salt_slope_doubtful(double slope);

/* Salts that differ by less cannot make a line, %. */
extern const double salt_least_apart;

#endif
