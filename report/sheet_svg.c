/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sheet as SVG; see sheet.h.  librrd's panels are nested as they are, with
 * their identifiers made unlike one another's.
 */
#include "report/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

/* Text between tags or in an attribute; what XML 1.0 does not allow is left
 * out (control characters). */
static void print_escaped(FILE *file, const char *text)
{
	for (; *text; text++) {
		unsigned char c = (unsigned char)*text;

		if (c == '&')
			fputs("&amp;", file);
		else if (c == '<')
			fputs("&lt;", file);
		else if (c == '>')
			fputs("&gt;", file);
		else if (c == '"')
			fputs("&quot;", file);
		else if (c >= 0x20 && c != 0x7f)
			fputc(c, file);
	}
}

static void print_text(FILE *file, const struct mark *mark)
{
	static const char *const anchors[] = { "start", "middle", "end" };

	fprintf(file, "<text x=\"%.1f\" y=\"%.1f\" font-size=\"%g\" fill=\"#%s\"", mark->x, mark->y,
		mark->font.size, mark->font.colour);
	if (mark->font.bold)
		fputs(" font-weight=\"bold\"", file);
	if (mark->anchor != AT_START)
		fprintf(file, " text-anchor=\"%s\"", anchors[mark->anchor]);
	fputc('>', file);
	print_escaped(file, mark->text);
	fputs("</text>\n", file);
}

/* Copies a nested document behind its opening tag, every identifier and every
 * reference to one prefixed with the picture's number. */
static void print_prefixed(FILE *file, const char *text, size_t number)
{
	static const char *const before[] = { " id=\"", "url(#", "href=\"#" };

	while (*text) {
		size_t i, length = 0;

		for (i = 0; i < sizeof before / sizeof *before && !length; i++)
			if (strncmp(text, before[i], strlen(before[i])) == 0)
				length = strlen(before[i]);
		if (length) {
			fprintf(file, "%.*sp%zu-", (int)length, text, number);
			text += length;
		} else {
			fputc(*text++, file);
		}
	}
}

static void print_picture(FILE *file, const struct mark *mark, size_t number)
{
	char *document = must_calloc(mark->size + 1, 1);
	char *root, *inside;

	memcpy(document, mark->bytes, mark->size);
	root = strstr(document, "<svg");
	inside = root ? strchr(root, '>') : NULL;
	fprintf(file, "<svg x=\"%.1f\" y=\"%.1f\" width=\"%.0f\" height=\"%.0f\">", mark->x,
		mark->y, mark->x2, mark->y2);
	print_prefixed(file, inside ? inside + 1 : "</svg>", number);
	free(document);
}

static void print_mark(FILE *file, const struct mark *mark, size_t number)
{
	switch (mark->kind) {
	case MARK_TEXT:
		print_text(file, mark);
		break;
	case MARK_LINE:
		fprintf(file, "<path d=\"M%.1f %.1fL%.1f %.1f\" stroke=\"#%s\"/>\n", mark->x, mark->y,
			mark->x2, mark->y2, mark->font.colour);
		break;
	case MARK_DOT:
		fprintf(file, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"%g\" fill=\"#%s\"/>\n", mark->x,
			mark->y, mark->x2, mark->font.colour);
		break;
	case MARK_POINTER:
		fprintf(file, "<path d=\"M%.1f %.1fl%g %gh%gz\" fill=\"#%s\"/>\n", mark->x, mark->y,
			-mark->x2 / 2, -mark->x2, mark->x2, mark->font.colour);
		break;
	case MARK_PICTURE:
		print_picture(file, mark, number);
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
		"<svg xmlns=\"http://www.w3.org/2000/svg\" "
		"xmlns:xlink=\"http://www.w3.org/1999/xlink\" width=\"%d\" height=\"%d\" "
		"viewBox=\"0 0 %d %d\" role=\"img\" font-family=\"DejaVu Sans, sans-serif\">\n",
		sheet->width, sheet->height, sheet->width, sheet->height);
	fputs("<title>", file);
	print_escaped(file, sheet->title ? sheet->title : "");
	fputs("</title>\n<desc>", file);
	print_escaped(file, sheet->description ? sheet->description : "");
	fprintf(file, "</desc>\n<rect width=\"%d\" height=\"%d\" fill=\"#%s\"/>\n", sheet->width,
		sheet->height, sheet->background);
	for (size_t i = 0; i < sheet->count; i++)
		print_mark(file, &sheet->marks[i], i);
	fputs("</svg>\n", file);
	fclose(file);
	return (unsigned char *)bytes;
}
