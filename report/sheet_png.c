/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet as PNG, and how wide texts are: the one user of cairo.
 */
#include "report/sheet.h"

#include <math.h>
#include <stdio.h>
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

static void use_colour(cairo_t *cairo, const char *colour)
{
	unsigned long rgb = strtoul(colour, NULL, 16);

	cairo_set_source_rgb(cairo, (double)(rgb >> 16 & 255) / 255,
			     (double)(rgb >> 8 & 255) / 255, (double)(rgb & 255) / 255);
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

/* Bytes being read from or gathered in memory. */
struct bytes {
	unsigned char *list;
	size_t count, at;
};

static cairo_status_t read_bytes(void *closure, unsigned char *data, unsigned length)
{
	struct bytes *bytes = closure;

	if (length > bytes->count - bytes->at)
		return CAIRO_STATUS_READ_ERROR;
	memcpy(data, bytes->list + bytes->at, length);
	bytes->at += length;
	return CAIRO_STATUS_SUCCESS;
}

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

	use_font(cairo, mark->font);
	cairo_move_to(cairo, mark->x - (mark->anchor == AT_START ? 0 :
					mark->anchor == AT_END	 ? width :
								   width / 2), mark->y);
	cairo_show_text(cairo, mark->text);
}

static void draw_line(cairo_t *cairo, const struct mark *mark)
{
	cairo_set_line_width(cairo, 1);
	/* On the pixels' middles, where a line one wide is sharp. */
	cairo_move_to(cairo, floor(mark->x) + 0.5, floor(mark->y) + 0.5);
	cairo_line_to(cairo, floor(mark->x2) + 0.5, floor(mark->y2) + 0.5);
	cairo_stroke(cairo);
}

static void draw_pointer(cairo_t *cairo, const struct mark *mark)
{
	cairo_move_to(cairo, mark->x, mark->y);
	cairo_rel_line_to(cairo, -mark->x2 / 2, -mark->x2);
	cairo_rel_line_to(cairo, mark->x2, 0);
	cairo_close_path(cairo);
	cairo_fill(cairo);
}

static bool draw_picture(cairo_t *cairo, const struct mark *mark)
{
	struct bytes bytes = { mark->bytes, mark->size, 0 };
	cairo_surface_t *picture = cairo_image_surface_create_from_png_stream(read_bytes, &bytes);
	bool good = cairo_surface_status(picture) == CAIRO_STATUS_SUCCESS;

	if (good) {
		cairo_set_source_surface(cairo, picture, mark->x, mark->y);
		cairo_paint(cairo);
	}
	cairo_surface_destroy(picture);
	return good;
}

static bool draw_mark(cairo_t *cairo, const struct mark *mark)
{
	if (mark->kind == MARK_PICTURE)
		return draw_picture(cairo, mark);
	use_colour(cairo, mark->font.colour);
	if (mark->kind == MARK_TEXT) {
		draw_text(cairo, mark);
	} else if (mark->kind == MARK_LINE) {
		draw_line(cairo, mark);
	} else if (mark->kind == MARK_POINTER) {
		draw_pointer(cairo, mark);
	} else {
		cairo_arc(cairo, mark->x, mark->y, mark->x2, 0, 2 * M_PI);
		cairo_fill(cairo);
	}
	return true;
}

unsigned char *sheet_to_png(const struct sheet *sheet, size_t *size, char **trouble)
{
	cairo_surface_t *surface =
		cairo_image_surface_create(CAIRO_FORMAT_RGB24, sheet->width, sheet->height);
	cairo_t *cairo = cairo_create(surface);
	struct bytes bytes = { 0 };
	bool good = true;

	use_colour(cairo, sheet->background);
	cairo_paint(cairo);
	for (size_t i = 0; good && i < sheet->count; i++)
		good = draw_mark(cairo, &sheet->marks[i]);
	if (good)
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
