/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet of paper: pictures, texts, lines and marks at their places, written
 * out as PNG or as SVG.  Texts of an SVG stay texts: they can be selected,
 * searched and read aloud.
 */
#ifndef WARMSIDE_REPORT_SHEET_H
#define WARMSIDE_REPORT_SHEET_H

#include <stdbool.h>
#include <stddef.h>

enum anchor { AT_START, AT_MIDDLE, AT_END };

struct font {
	double size;            /* pixels */
	bool bold;
	const char *colour;     /* "1F1D1A"; kept by reference */
};

enum mark_kind { MARK_TEXT, MARK_LINE, MARK_DOT, MARK_POINTER, MARK_PICTURE };

struct mark {
	enum mark_kind kind;
	double x, y;            /* text: its baseline; picture: its corner */
	double x2, y2;          /* line: its other end; picture: width and height;
				 * dot and pointer: x2 is their size */
	enum anchor anchor;
	struct font font;       /* of a text; of the others the colour */
	char *text;
	unsigned char *bytes;   /* picture: PNG or SVG, as the sheet is */
	size_t size;
};

struct sheet {
	int width, height;      /* pixels */
	const char *background;
	char *title, *description; /* of an SVG, for whoever cannot see it */
	struct mark *marks;
	size_t count;
};

/* Marks are drawn in the order they are added; texts are copied. */
void sheet_begin(struct sheet *sheet, int width, int height, const char *background);
void sheet_text(struct sheet *sheet, double x, double y, enum anchor anchor, struct font font,
		const char *text);
void sheet_line(struct sheet *sheet, double x, double y, double x2, double y2, const char *colour);
void sheet_dot(struct sheet *sheet, double x, double y, double radius, const char *colour);
/* A small triangle whose point is at x, y, pointing down. */
void sheet_pointer(struct sheet *sheet, double x, double y, double size, const char *colour);
/* Takes the bytes over. */
void sheet_picture(struct sheet *sheet, double x, double y, double width, double height,
		   unsigned char *bytes, size_t size);
void sheet_clear(struct sheet *sheet);

/* Pixels a text takes. */
double sheet_text_width(struct font font, const char *text);

/* The whole sheet as a file's bytes; malloc'ed, the caller frees.  NULL with
 * one sentence (the caller frees it) when that cannot be done. */
unsigned char *sheet_to_png(const struct sheet *sheet, size_t *size, char **trouble);
unsigned char *sheet_to_svg(const struct sheet *sheet, size_t *size, char **trouble);

#endif
