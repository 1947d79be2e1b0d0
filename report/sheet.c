/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet's marks; see sheet.h.
 */
#include "report/sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

void sheet_begin(struct sheet *sheet, int width, int height, const char *background)
{
	*sheet = (struct sheet){ .width = width, .height = height, .background = background };
}

static void add(struct sheet *sheet, struct mark mark)
{
	sheet->marks = must_resize(sheet->marks, sheet->count + 1, sizeof *sheet->marks);
	sheet->marks[sheet->count++] = mark;
}

void sheet_text(struct sheet *sheet, double x, double y, enum anchor anchor, struct font font,
		const char *text)
{
	add(sheet, (struct mark){ .kind = MARK_TEXT, .at = { x, y }, .anchor = anchor,
				  .font = font, .text = must_copy(text) });
}

/* ---- small signs ---------------------------------------------------------- */

static void add_sign(struct sheet *sheet, enum mark_kind kind, struct point at, double size,
		     const char *colour)
{
	add(sheet, (struct mark){ .kind = kind, .at = at, .width = size,
				  .stroke = { .colour = colour, .opacity = 1 } });
}

void sheet_dot(struct sheet *sheet, double x, double y, double radius, const char *colour)
{
	add_sign(sheet, MARK_DOT, (struct point){ x, y }, radius, colour);
}

void sheet_pointer(struct sheet *sheet, double x, double y, double size, const char *colour)
{
	add_sign(sheet, MARK_POINTER, (struct point){ x, y }, size, colour);
}

void sheet_drop(struct sheet *sheet, double x, double y, double size, const char *colour)
{
	add_sign(sheet, MARK_DROP, (struct point){ x, y }, size, colour);
}

/* ---- lines and areas ------------------------------------------------------ */

static void add_points(struct sheet *sheet, enum mark_kind kind, const struct point *points,
		       size_t count, struct stroke stroke)
{
	struct point *copy;

	if (count < 2)
		return;
	copy = must_calloc(count, sizeof *copy);
	memcpy(copy, points, count * sizeof *copy);
	add(sheet, (struct mark){ .kind = kind, .stroke = stroke, .points = copy, .count = count });
}

void sheet_polyline(struct sheet *sheet, const struct point *points, size_t count,
		    struct stroke stroke)
{
	add_points(sheet, MARK_LINE, points, count, stroke);
}

void sheet_hairline(struct sheet *sheet, struct point from, struct point to, struct stroke stroke)
{
	const struct point points[] = {
		{ floor(from.x) + 0.5, floor(from.y) + 0.5 },
		{ floor(to.x) + 0.5, floor(to.y) + 0.5 },
	};

	add_points(sheet, MARK_LINE, points, 2, stroke);
}

void sheet_area(struct sheet *sheet, const struct point *outline, size_t count,
		struct stroke stroke)
{
	add_points(sheet, MARK_AREA, outline, count, stroke);
}

/* ---- hatching ------------------------------------------------------------- */

/* Where a diagonal crosses the outline: on the diagonal x + y = number * apart. */
struct crossing {
	long number;
	struct point at;
};

static int along_diagonals(const void *a, const void *b)
{
	const struct crossing *one = a, *other = b;

	if (one->number != other->number)
		return one->number < other->number ? -1 : 1;
	return (one->at.x > other->at.x) - (one->at.x < other->at.x);
}

/* All crossings of the outline with the diagonals.  An edge reaches from its
 * lower end up to, not including, its upper one, so that a corner counts once
 * or twice, as even and odd need it. */
static struct crossing *cross(const struct sheet *sheet, const struct point *outline, size_t count,
			      double apart, size_t *found)
{
	double last = floor((sheet->width + sheet->height) / apart); /* others miss the sheet */
	struct crossing *list = NULL;

	*found = 0;
	for (size_t i = 0; i < count; i++) {
		struct point a = outline[i], b = outline[(i + 1) % count];
		double from = (a.x + a.y) / apart, to = (b.x + b.y) / apart;

		if (from > to) {
			struct point kept = a;
			double other = from;

			a = b, b = kept;
			from = to, to = other;
		}
		for (long n = (long)fmax(ceil(from), 0); (double)n < fmin(to, last + 1); n++) {
			double part = ((double)n - from) / (to - from);

			list = must_resize(list, *found + 1, sizeof *list);
			list[(*found)++] = (struct crossing){
				n, { a.x + part * (b.x - a.x), a.y + part * (b.y - a.y) } };
		}
	}
	return list;
}

void sheet_hatch(struct sheet *sheet, const struct point *outline, size_t count, double apart,
		 struct stroke stroke)
{
	size_t found;
	struct crossing *list = cross(sheet, outline, count, apart, &found);
	struct point *ends = must_calloc(found, sizeof *ends);

	if (found)
		qsort(list, found, sizeof *list, along_diagonals);
	for (size_t i = 0; i < found; i++)
		ends[i] = list[i].at;
	add_points(sheet, MARK_STROKES, ends, found, stroke);
	free(list);
	free(ends);
}

/* ---- the rest ------------------------------------------------------------- */

void sheet_clip(struct sheet *sheet, double x, double y, double width, double height)
{
	add(sheet, (struct mark){ .kind = MARK_CLIP, .at = { x, y }, .width = width,
				  .height = height });
}

void sheet_unclip(struct sheet *sheet)
{
	add(sheet, (struct mark){ .kind = MARK_UNCLIP });
}

void sheet_clear(struct sheet *sheet)
{
	for (size_t i = 0; i < sheet->count; i++) {
		free(sheet->marks[i].text);
		free(sheet->marks[i].points);
	}
	free(sheet->marks);
	free(sheet->title);
	free(sheet->description);
	*sheet = (struct sheet){ 0 };
}
