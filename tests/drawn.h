/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was drawn, for tests: a PNG's pixels, as another reader than ours sees
 * them, and an SVG's tags.
 */
#ifndef WARMSIDE_TESTS_DRAWN_H
#define WARMSIDE_TESTS_DRAWN_H

#include <stddef.h>
#include <stdint.h>

struct pixels {
	int width, height;
	uint32_t *list;         /* 0xRRGGBB, row by row */
};

/* The test fails when it is no PNG.  The caller frees with pixels_free. */
void pixels_read(const unsigned char *png, size_t size, struct pixels *out);
void pixels_free(struct pixels *pixels);

uint32_t pixel_at(const struct pixels *pixels, int x, int y);

/* How many within a rectangle (right and bottom outside it) are exactly that
 * colour. */
size_t pixels_of(const struct pixels *pixels, int left, int top, int right, int bottom,
		 uint32_t colour);
size_t pixels_of_all(const struct pixels *pixels, uint32_t colour);

/* Of an SVG: every tag closed in its turn, no stray < or & in a text. */
void assert_well_formed(const char *text);
void assert_identifiers_differ(const char *text);

#endif
