/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text into HTML and SVG: what a keeper wrote must never become markup.
 */
#ifndef WARMSIDE_REPORT_MARKUP_H
#define WARMSIDE_REPORT_MARKUP_H

#include <stdio.h>

/* The text with & < > " and ' escaped, without control characters, which have no place in
 * either (XML 1.0, 2.2): for element content and for attribute values in double quotes. */
void markup_text(FILE *out, const char *text);

/* " name=\"text\"", escaped. */
void markup_attribute(FILE *out, const char *name, const char *text);

#endif
