/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * For tests of the page's pictures: what is drawn of a case, and a reader of paths.
 */
#ifndef WARMSIDE_TESTS_PAGE_CASE_H
#define WARMSIDE_TESTS_PAGE_CASE_H

#include "report/page.h"
#include "tests/account_case.h"

enum { POINTS = 8000 };

/* One stroke of a path: its corners from where the pen was put down. */
struct stroke {
	double x[POINTS], y[POINTS];
	size_t count;
	bool closed;
};

/* Where the data of the n-th path of a class begins; NULL when there is none. */
const char *path_of(const char *svg, const char *class, size_t n);

/* The next stroke of a path's data; false at its end. */
bool next_stroke(const char **at, struct stroke *stroke);

/* The height of an open stroke at x; it runs to the right. */
double height_at(const struct stroke *stroke, double x);

/* The highest and lowest height of a closed stroke at x, where no corner is; y is down.
 * Infinite when it is not there. */
void heights_at(const struct stroke *stroke, double x, double *top, double *bottom);

/* The account of a case, drawn as on the page. */
struct drawn {
	struct graph graph;
	char *plots[CASE_SERIES];
	char *strips[QUANTITIES];
	struct strip_drawn strip[QUANTITIES];
	bool judged[QUANTITIES];
};

void draw(struct account_case *c, enum units units, struct drawn *out);
void undraw(struct drawn *drawn);

#endif
