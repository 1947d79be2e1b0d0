/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Points of a shape; see outline.h.
 */
#include "report/outline.h"

#include <stdlib.h>

#include "conf/memory.h"

struct outline outline_begin(size_t most)
{
	return (struct outline){ must_calloc(most, sizeof(struct point)), 0 };
}

void outline_add(struct outline *outline, double x, double y)
{
	outline->points[outline->count++] = (struct point){ x, y };
}

void outline_turn(struct outline *outline, size_t since)
{
	for (size_t i = since, j = outline->count; i + 1 < j; i++) {
		struct point kept = outline->points[i];

		outline->points[i] = outline->points[--j];
		outline->points[j] = kept;
	}
}

void outline_clear(struct outline *outline)
{
	free(outline->points);
	*outline = (struct outline){ 0 };
}
