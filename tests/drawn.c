/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Pixels and tags; see drawn.h.
 */
#include "tests/drawn.h"

#include "tests/cm.h"

#include <stdio.h>

#include <cairo.h>

#include "conf/memory.h"

struct reader {
	const unsigned char *at;
	size_t left;
};

static cairo_status_t read_some(void *closure, unsigned char *data, unsigned length)
{
	struct reader *reader = closure;

	if (length > reader->left)
		return CAIRO_STATUS_READ_ERROR;
	memcpy(data, reader->at, length);
	reader->at += length;
	reader->left -= length;
	return CAIRO_STATUS_SUCCESS;
}

void pixels_read(const unsigned char *png, size_t size, struct pixels *out)
{
	struct reader reader = { png, size };
	cairo_surface_t *surface = cairo_image_surface_create_from_png_stream(read_some, &reader);
	const unsigned char *data = cairo_image_surface_get_data(surface);
	int stride = cairo_image_surface_get_stride(surface);

	assert_int_equal(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS);
	out->width = cairo_image_surface_get_width(surface);
	out->height = cairo_image_surface_get_height(surface);
	out->list = must_calloc((size_t)(out->width * out->height), sizeof *out->list);
	for (int y = 0; y < out->height; y++)
		memcpy(out->list + y * out->width, data + y * stride,
		       (size_t)out->width * sizeof *out->list);
	for (int i = 0; i < out->width * out->height; i++)
		out->list[i] &= 0xffffff;
	cairo_surface_destroy(surface);
}

void pixels_free(struct pixels *pixels)
{
	free(pixels->list);
}

uint32_t pixel_at(const struct pixels *pixels, int x, int y)
{
	assert_true(x >= 0 && x < pixels->width && y >= 0 && y < pixels->height);
	return pixels->list[y * pixels->width + x];
}

size_t pixels_of(const struct pixels *pixels, int left, int top, int right, int bottom,
		 uint32_t colour)
{
	size_t count = 0;

	for (int y = top; y < bottom; y++)
		for (int x = left; x < right; x++)
			count += pixel_at(pixels, x, y) == colour;
	return count;
}

size_t pixels_of_all(const struct pixels *pixels, uint32_t colour)
{
	return pixels_of(pixels, 0, 0, pixels->width, pixels->height, colour);
}

void assert_well_formed(const char *text)
{
	char open[32][32];
	int depth = 0;

	for (const char *at = strchr(text, '<'); at; at = strchr(at + 1, '<')) {
		const char *close = strpbrk(at + 1, "<>");
		char name[32] = "";

		assert_true(close && *close == '>');
		if (at[1] == '?' || at[1] == '!')
			continue;
		sscanf(at + 1, "%30[/a-zA-Z]", name);
		if (name[0] == '/') {
			assert_true(depth > 0);
			assert_string_equal(open[--depth], name + 1);
		} else if (close[-1] != '/') {
			assert_true(depth < 32);
			memcpy(open[depth++], name, sizeof name);
		}
	}
	assert_int_equal(depth, 0);
	for (const char *at = strchr(text, '&'); at; at = strchr(at + 1, '&'))
		assert_true(strncmp(at, "&amp;", 5) == 0 || strncmp(at, "&lt;", 4) == 0 ||
			    strncmp(at, "&gt;", 4) == 0 || strncmp(at, "&quot;", 6) == 0);
}

void assert_identifiers_differ(const char *text)
{
	for (const char *at = strstr(text, " id=\""); at; at = strstr(at + 1, " id=\"")) {
		size_t length = strcspn(at + 5, "\"") + 1; /* the quotes are part of it */
		char *identifier = must_print("%.*s", (int)length, at + 5);

		assert_null(strstr(at + 6, identifier));
		free(identifier);
	}
}
