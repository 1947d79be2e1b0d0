/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet as PNG, and how wide texts are: the one user of cairo.
 */
#include "report/sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <cairo.h>

#include "conf/memory.h"

static void use_font(cairo_t *cairo, struct font font)
{
	cairo_select_font_face(cairo, "DejaVu Sans", CAIRO_FONT_SLANT_NORMAL,
			       font.bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
	cairo_set_font_size(cairo, font.size);
}

static void use_colour(cairo_t *cairo, const char *colour, double opacity)
{
	unsigned long rgb = strtoul(colour, NULL, 16);

	cairo_set_source_rgba(cairo, (double)(rgb >> 16 & 255) / 255,
			      (double)(rgb >> 8 & 255) / 255, (double)(rgb & 255) / 255, opacity);
}

double sheet_text_width(struct font font, const char *text)
{
	cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, 1, 1);
	cairo_t *cairo = cairo_create(surface);
	cairo_text_extents_t extents;

	use_font(cairo, font);
	cairo_text_extents(cairo, text, &extents);
	cairo_destroy(cairo);
	cairo_surface_destroy(surface);
	return extents.x_advance;
}

/* Bytes being gathered in memory. */
struct bytes {
	unsigned char *list;
	size_t count;
};

static cairo_status_t gather_bytes(void *closure, const unsigned char *data, unsigned length)
{
	struct bytes *bytes = closure;

	bytes->list = must_resize(bytes->list, bytes->count + length, 1);
	memcpy(bytes->list + bytes->count, data, length);
	bytes->count += length;
	return CAIRO_STATUS_SUCCESS;
}

static void draw_text(cairo_t *cairo, const struct mark *mark)
{
	double width = sheet_text_width(mark->font, mark->text);
	double x = mark->at.x - (mark->anchor == AT_START ? 0 :
				 mark->anchor == AT_END	  ? width :
							    width / 2);

	use_font(cairo, mark->font);
	cairo_move_to(cairo, x, mark->at.y);
	if (mark->font.rim) {
		cairo_text_path(cairo, mark->text);
		use_colour(cairo, mark->font.rim, RIM_OPACITY);
		cairo_set_dash(cairo, NULL, 0, 0);
		cairo_set_line_join(cairo, CAIRO_LINE_JOIN_ROUND);
		cairo_set_line_width(cairo, 2 * RIM_WIDTH);
		cairo_stroke(cairo);
		cairo_move_to(cairo, x, mark->at.y);
	}
	use_colour(cairo, mark->font.colour, 1);
	cairo_show_text(cairo, mark->text);
}

static void draw_pointer(cairo_t *cairo, const struct mark *mark)
{
	cairo_move_to(cairo, mark->at.x, mark->at.y);
	cairo_rel_line_to(cairo, -mark->width / 2, -mark->width);
	cairo_rel_line_to(cairo, mark->width, 0);
	cairo_close_path(cairo);
	cairo_fill(cairo);
}

/* A round foot a third of the height in radius, and a point above it. */
static void draw_drop(cairo_t *cairo, const struct mark *mark)
{
	double r = mark->width / 3;

	cairo_move_to(cairo, mark->at.x, mark->at.y - 3 * r);
	cairo_rel_curve_to(cairo, 0.2 * r, 0.7 * r, r, 1.3 * r, r, 2 * r);
	cairo_arc(cairo, mark->at.x, mark->at.y - r, r, 0, M_PI);
	cairo_rel_curve_to(cairo, 0, -0.7 * r, 0.8 * r, -1.3 * r, r, -2 * r);
	cairo_close_path(cairo);
	cairo_fill(cairo);
}

/* Every point is joined to the one before it, of strokes only every second. */
static void trace(cairo_t *cairo, const struct mark *mark)
{
	for (size_t i = 0; i < mark->count; i++) {
		const struct point *p = &mark->points[i];

		if (i == 0 || (mark->kind == MARK_STROKES && i % 2 == 0))
			cairo_move_to(cairo, p->x, p->y);
		else
			cairo_line_to(cairo, p->x, p->y);
	}
}

static void draw_line(cairo_t *cairo, const struct mark *mark)
{
	const struct stroke *stroke = &mark->stroke;
	const double dashes[] = { stroke->dash, stroke->gap };

	cairo_set_line_width(cairo, stroke->width);
	cairo_set_line_join(cairo, stroke->round ? CAIRO_LINE_JOIN_ROUND : CAIRO_LINE_JOIN_MITER);
	cairo_set_line_cap(cairo, stroke->round ? CAIRO_LINE_CAP_ROUND : CAIRO_LINE_CAP_BUTT);
	cairo_set_dash(cairo, dashes, stroke->gap > 0 ? 2 : 0, 0);
	trace(cairo, mark);
	cairo_stroke(cairo);
}

static void clip(cairo_t *cairo, const struct mark *mark)
{
	cairo_save(cairo);
	cairo_rectangle(cairo, mark->at.x, mark->at.y, mark->width, mark->height);
	cairo_clip(cairo);
}

static void draw_mark(cairo_t *cairo, const struct mark *mark)
{
	if (mark->stroke.colour)
		use_colour(cairo, mark->stroke.colour, mark->stroke.opacity);
	switch (mark->kind) {
	case MARK_TEXT:
		draw_text(cairo, mark);
		break;
	case MARK_DOT:
		cairo_arc(cairo, mark->at.x, mark->at.y, mark->width, 0, 2 * M_PI);
		cairo_fill(cairo);
		break;
	case MARK_POINTER:
		draw_pointer(cairo, mark);
		break;
	case MARK_DROP:
		draw_drop(cairo, mark);
		break;
	case MARK_LINE:
	case MARK_STROKES:
		draw_line(cairo, mark);
		break;
	case MARK_AREA:
		trace(cairo, mark);
		cairo_fill(cairo);
		break;
	case MARK_CLIP:
		clip(cairo, mark);
		break;
	case MARK_UNCLIP:
		cairo_restore(cairo);
		break;
	}
}

unsigned char *sheet_to_png(const struct sheet *sheet, size_t *size, char **trouble)
{
	cairo_surface_t *surface =
		cairo_image_surface_create(CAIRO_FORMAT_RGB24, sheet->width, sheet->height);
	cairo_t *cairo = cairo_create(surface);
	struct bytes bytes = { 0 };
	bool good;

	use_colour(cairo, sheet->background, 1);
	cairo_paint(cairo);
	for (size_t i = 0; i < sheet->count; i++)
		draw_mark(cairo, &sheet->marks[i]);
	good = cairo_status(cairo) == CAIRO_STATUS_SUCCESS &&
	       cairo_surface_write_to_png_stream(surface, gather_bytes, &bytes) ==
		       CAIRO_STATUS_SUCCESS;
	cairo_destroy(cairo);
	cairo_surface_destroy(surface);
	*size = bytes.count;
	if (good)
		return bytes.list;
	free(bytes.list);
	*trouble = must_print("the picture of %d x %d pixels cannot be made", sheet->width,
			      sheet->height);
	return NULL;
}
