/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Comma-separated lines; see csv.h.
 */
#include "report/csv.h"

#include <math.h>
#include <string.h>

static void separate(FILE *file, bool *first)
{
	if (!*first)
		fputc(',', file);
	*first = false;
}

void csv_text(FILE *file, bool *first, const char *text)
{
	separate(file, first);
	if (!text)
		return;
	if (!strpbrk(text, ",\"\r\n")) {
		fputs(text, file);
		return;
	}
	fputc('"', file);
	for (; *text; text++) {
		if (*text == '"')
			fputc('"', file);
		fputc(*text, file);
	}
	fputc('"', file);
}

void csv_number(FILE *file, bool *first, bool present, double value)
{
	separate(file, first);
	if (present && isfinite(value))
		fprintf(file, "%.15g", round(value * 1e6) / 1e6);
}
