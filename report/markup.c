/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Escaping; see markup.h.
 */
#include "report/markup.h"

#include <string.h>

void markup_text(FILE *out, const char *text)
{
	static const char special[] = "&<>\"'";
	static const char *const escaped[] = { "&amp;", "&lt;", "&gt;", "&quot;", "&#39;" };

	for (; *text; text++) {
		const char *found = strchr(special, *text);
		unsigned char c = (unsigned char)*text;

		if (found)
			fputs(escaped[found - special], out);
		else if ((c >= 0x20 && c != 0x7f) || c == '\n' || c == '\t')
			fputc(c, out);
	}
}

void markup_attribute(FILE *out, const char *name, const char *text)
{
	fprintf(out, " %s=\"", name);
	markup_text(out, text);
	fputc('"', out);
}
