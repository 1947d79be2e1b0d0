/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet of paper: texts, lines, areas and marks at their places, written
 * out as PNG or as SVG.  Texts of an SVG stay texts: they can be selected,
 * searched and read aloud; its lines and areas stay lines and areas.
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
	const char *rim;        /* colour around the letters, to set them off; NULL for none */
};

/* Of a rim: pixels around a letter, and how much of what is below it hides, 0..1. */
#define RIM_WIDTH 2.0
#define RIM_OPACITY 0.7

/* How something is drawn; of an area only colour and opacity matter. */
struct stroke {
	const char *colour;     /* "1F1D1A"; kept by reference */
	double opacity;         /* 0..1 */
	double width;           /* pixels */
	double dash, gap;       /* pixels; both 0: unbroken; dash 0 with a gap and round: dots */
	bool round;             /* joins and ends; else mitred and cut off */
};

struct point {
	double x, y;            /* pixels, from the upper left corner */
};

enum mark_kind {
	MARK_TEXT, MARK_DOT, MARK_POINTER, MARK_DROP,
	MARK_LINE, MARK_AREA, MARK_STROKES,
	MARK_CLIP, MARK_UNCLIP,
};

struct mark {
	enum mark_kind kind;
	struct point at;        /* text: its baseline; clip: its corner */
	double width, height;   /* of a clip; of a dot, a pointer and a drop width is their size */
	enum anchor anchor;
	struct font font;       /* of a text */
	char *text;
	struct stroke stroke;   /* of all others */
	struct point *points;   /* of lines and areas; strokes: two each */
	size_t count;
};

struct sheet {
	int width, height;      /* pixels */
	const char *background;
	char *title, *description; /* of an SVG, for whoever cannot see it */
	struct mark *marks;
	size_t count;
};

/* Marks are drawn in the order they are added; texts and points are copied. */
void sheet_begin(struct sheet *sheet, int width, int height, const char *background);
void sheet_text(struct sheet *sheet, double x, double y, enum anchor anchor, struct font font,
		const char *text);
void sheet_dot(struct sheet *sheet, double x, double y, double radius, const char *colour);
/* A small triangle whose point is at x, y, pointing down. */
void sheet_pointer(struct sheet *sheet, double x, double y, double size, const char *colour);
/* A small drop of water whose foot is at x, y. */
void sheet_drop(struct sheet *sheet, double x, double y, double size, const char *colour);

void sheet_polyline(struct sheet *sheet, const struct point *points, size_t count,
		    struct stroke stroke);
/* A straight line, moved onto the pixels' middles, where one a pixel wide is sharp. */
void sheet_hairline(struct sheet *sheet, struct point from, struct point to, struct stroke stroke);
/* Filled; the outline closes itself. */
void sheet_area(struct sheet *sheet, const struct point *outline, size_t count,
		struct stroke stroke);
/* The same area hatched: strokes that rise to the right, `apart` pixels from
 * one another, on the same places of the sheet for all areas. */
void sheet_hatch(struct sheet *sheet, const struct point *outline, size_t count, double apart,
		 struct stroke stroke);

/* What is added until sheet_unclip shows only within the rectangle; may be nested. */
void sheet_clip(struct sheet *sheet, double x, double y, double width, double height);
void sheet_unclip(struct sheet *sheet);
void sheet_clear(struct sheet *sheet);

/* Pixels a text takes. */
double sheet_text_width(struct font font, const char *text);

/* The whole sheet as a file's bytes; malloc'ed, the caller frees.  NULL with
 * one sentence (the caller frees it) when that cannot be done. */
unsigned char *sheet_to_png(const struct sheet *sheet, size_t *size, char **trouble);
unsigned char *sheet_to_svg(const struct sheet *sheet, size_t *size, char **trouble);

#endif
