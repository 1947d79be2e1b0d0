/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet's marks; see sheet.h.
 */
#include "report/sheet.h"

#include <stdlib.h>

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
	add(sheet, (struct mark){ .kind = MARK_TEXT, .x = x, .y = y, .anchor = anchor,
				  .font = font, .text = must_copy(text) });
}

void sheet_line(struct sheet *sheet, double x, double y, double x2, double y2, const char *colour)
{
	add(sheet, (struct mark){ .kind = MARK_LINE, .x = x, .y = y, .x2 = x2, .y2 = y2,
				  .font.colour = colour });
}

void sheet_dot(struct sheet *sheet, double x, double y, double radius, const char *colour)
{
	add(sheet, (struct mark){ .kind = MARK_DOT, .x = x, .y = y, .x2 = radius,
				  .font.colour = colour });
}

void sheet_pointer(struct sheet *sheet, double x, double y, double size, const char *colour)
{
	add(sheet, (struct mark){ .kind = MARK_POINTER, .x = x, .y = y, .x2 = size,
				  .font.colour = colour });
}

void sheet_picture(struct sheet *sheet, double x, double y, double width, double height,
		   unsigned char *bytes, size_t size)
{
	add(sheet, (struct mark){ .kind = MARK_PICTURE, .x = x, .y = y, .x2 = width, .y2 = height,
				  .bytes = bytes, .size = size });
}

void sheet_clear(struct sheet *sheet)
{
	for (size_t i = 0; i < sheet->count; i++) {
		free(sheet->marks[i].text);
		free(sheet->marks[i].bytes);
	}
	free(sheet->marks);
	free(sheet->title);
	free(sheet->description);
	*sheet = (struct sheet){ 0 };
}
