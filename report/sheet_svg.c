/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet as SVG; see sheet.h.
 */
#include "report/sheet.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "report/markup.h"

static void print_text(FILE *file, const struct mark *mark)
{
	static const char *const anchors[] = { "start", "middle", "end" };

	fprintf(file, "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%g\" fill=\"#%s\"", mark->at.x, mark->at.y,
		mark->font.size, mark->font.colour);
	if (mark->font.bold)
		fputs(" font-weight=\"bold\"", file);
	if (mark->font.rim)
		fprintf(file, " stroke=\"#%s\" stroke-opacity=\"%g\" stroke-width=\"%g\" "
			"stroke-linejoin=\"round\" paint-order=\"stroke\"", mark->font.rim, RIM_OPACITY,
			2 * RIM_WIDTH);
	if (mark->anchor != AT_START)
		fprintf(file, " text-anchor=\"%s\"", anchors[mark->anchor]);
	fputc('>', file);
	markup_text(file, mark->text);
	fputs("</text>\n", file);
}

/* ---- paths ---------------------------------------------------------------- */

/* A path is reckoned in whole hundredths of a pixel, so that what its relative
 * steps are rounded by does not add up. */
struct pen {
	FILE *file;
	long x, y;
	int last;               /* the command in force, 0 for none */
};

/* " 1.5", "-.25", "3": with a blank where the number before would run into it. */
static void print_number(FILE *file, long hundredths, bool apart)
{
	long size = labs(hundredths);

	if (hundredths < 0)
		fputc('-', file);
	else if (apart)
		fputc(' ', file);
	if (size >= 100 || size == 0)
		fprintf(file, "%ld", size / 100);
	if (size % 10)
		fprintf(file, ".%02ld", size % 100);
	else if (size % 100)
		fprintf(file, ".%ld", size % 100 / 10);
}

static void print_command(struct pen *pen, int command)
{
	if (pen->last != command)
		fputc(command, pen->file);
}

/* A step to a point, drawn or not. */
static void print_step(struct pen *pen, struct point to, bool drawn)
{
	long x = lround(to.x * 100), y = lround(to.y * 100);
	long dx = x - pen->x, dy = y - pen->y;
	int command = !drawn ? 'm' : !dy ? 'h' : !dx ? 'v' : 'l';
	bool apart = pen->last == command;

	if (drawn && !dx && !dy)
		return;
	print_command(pen, command);
	if (command != 'v')
		print_number(pen->file, dx, apart);
	if (command != 'h')
		print_number(pen->file, dy, command != 'v' || apart);
	/* What follows a move without a command of its own would be drawn. */
	pen->last = command == 'm' ? 0 : command;
	pen->x = x;
	pen->y = y;
}

static void print_path(FILE *file, const struct mark *mark)
{
	struct pen pen = { .file = file };

	fputs("<path d=\"", file);
	for (size_t i = 0; i < mark->count; i++)
		print_step(&pen, mark->points[i],
			   i > 0 && (mark->kind != MARK_STROKES || i % 2 == 1));
	if (mark->kind == MARK_AREA)
		fputc('z', file);
	fputc('"', file);
}

static void print_stroke(FILE *file, const struct stroke *stroke)
{
	fprintf(file, " stroke=\"#%s\" stroke-width=\"%g\"", stroke->colour, stroke->width);
	if (stroke->opacity < 1)
		fprintf(file, " stroke-opacity=\"%g\"", stroke->opacity);
	if (stroke->gap > 0)
		fprintf(file, " stroke-dasharray=\"%g %g\"", stroke->dash, stroke->gap);
	if (stroke->round)
		fputs(" stroke-linejoin=\"round\" stroke-linecap=\"round\"", file);
	fputs("/>\n", file);
}

static void print_fill(FILE *file, const struct stroke *stroke)
{
	fprintf(file, " fill=\"#%s\"", stroke->colour);
	if (stroke->opacity < 1)
		fprintf(file, " fill-opacity=\"%g\"", stroke->opacity);
	fputs("/>\n", file);
}

/* ---- marks ---------------------------------------------------------------- */

static void print_pointer(FILE *file, const struct mark *mark)
{
	fprintf(file, "<path d=\"M%.2f %.2fl%g %gh%gz\"", mark->at.x, mark->at.y, -mark->width / 2,
		-mark->width, mark->width);
	print_fill(file, &mark->stroke);
}

/* The same curves as in sheet_png.c. */
static void print_drop(FILE *file, const struct mark *mark)
{
	double r = mark->width / 3;

	fprintf(file, "<path d=\"M%.2f %.2fc%.2f %.2f %.2f %.2f %.2f %.2f"
		"a%.2f %.2f 0 0 1 %.2f 0c0 %.2f %.2f %.2f %.2f %.2fz\"", mark->at.x,
		mark->at.y - 3 * r, 0.2 * r, 0.7 * r, r, 1.3 * r, r, 2 * r, r, r, -2 * r, -0.7 * r,
		0.8 * r, -1.3 * r, r, -2 * r);
	print_fill(file, &mark->stroke);
}

static void print_clip(FILE *file, const struct mark *mark, size_t number)
{
	fprintf(file, "<clipPath id=\"clip%zu\"><rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" "
		"height=\"%.2f\"/></clipPath>\n<g clip-path=\"url(#clip%zu)\">\n", number,
		mark->at.x, mark->at.y, mark->width, mark->height, number);
}

static void print_mark(FILE *file, const struct mark *mark, size_t number)
{
	switch (mark->kind) {
	case MARK_TEXT:
		print_text(file, mark);
		break;
	case MARK_DOT:
		fprintf(file, "<circle cx=\"%.2f\" cy=\"%.2f\" r=\"%g\"", mark->at.x, mark->at.y,
			mark->width);
		print_fill(file, &mark->stroke);
		break;
	case MARK_POINTER:
		print_pointer(file, mark);
		break;
	case MARK_DROP:
		print_drop(file, mark);
		break;
	case MARK_LINE:
	case MARK_STROKES:
		print_path(file, mark);
		print_stroke(file, &mark->stroke);
		break;
	case MARK_AREA:
		print_path(file, mark);
		print_fill(file, &mark->stroke);
		break;
	case MARK_CLIP:
		print_clip(file, mark, number);
		break;
	case MARK_UNCLIP:
		fputs("</g>\n", file);
		break;
	}
}

unsigned char *sheet_to_svg(const struct sheet *sheet, size_t *size, char **trouble)
{
	char *bytes = NULL;
	FILE *file = open_memstream(&bytes, size);

	if (!file) {
		*trouble = must_print("there is no memory for the picture");
		return NULL;
	}
	fprintf(file, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
		"<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" "
		"viewBox=\"0 0 %d %d\" role=\"img\" fill=\"none\" font-family=\"DejaVu Sans, sans-serif\">\n",
		sheet->width, sheet->height, sheet->width, sheet->height);
	fputs("<title>", file);
	markup_text(file, sheet->title ? sheet->title : "");
	fputs("</title>\n<desc>", file);
	markup_text(file, sheet->description ? sheet->description : "");
	fprintf(file, "</desc>\n<rect width=\"%d\" height=\"%d\" fill=\"#%s\"/>\n", sheet->width,
		sheet->height, sheet->background);
	for (size_t i = 0; i < sheet->count; i++)
		print_mark(file, &sheet->marks[i], i);
	fputs("</svg>\n", file);
	fclose(file);
	return (unsigned char *)bytes;
}
