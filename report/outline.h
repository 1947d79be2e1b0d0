/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Points being gathered for a shape on a sheet.  Pure.
 */
#ifndef WARMSIDE_REPORT_OUTLINE_H
#define WARMSIDE_REPORT_OUTLINE_H

#include <stddef.h>

#include "report/sheet.h"

struct outline {
	struct point *points;
	size_t count;
};

/* With room for so many; freed with outline_clear. */
struct outline outline_begin(size_t most);
void outline_add(struct outline *outline, double x, double y);

/* What was added since then, the other way round: the way back of an outline. */
void outline_turn(struct outline *outline, size_t since);
void outline_clear(struct outline *outline);

#endif
