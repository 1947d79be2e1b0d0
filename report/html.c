/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Escaping; see html.h.
 */
#include "report/html.h"

#include <string.h>

void html_text(FILE *out, const char *text)
{
	while (*text) {
		size_t plain = strcspn(text, "&<>\"'");

		fwrite(text, 1, plain, out);
		text += plain;
		switch (*text) {
		case '&':
			fputs("&amp;", out);
			break;
		case '<':
			fputs("&lt;", out);
			break;
		case '>':
			fputs("&gt;", out);
			break;
		case '"':
			fputs("&quot;", out);
			break;
		case '\'':
			fputs("&#39;", out);
			break;
		default:
			return;
		}
		text++;
	}
}

void html_attribute(FILE *out, const char *name, const char *text)
{
	fprintf(out, " %s=\"", name);
	html_text(out, text);
	fputc('"', out);
}
