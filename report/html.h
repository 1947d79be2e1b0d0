/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text into HTML: what a keeper wrote must never become markup.
 */
#ifndef WARMSIDE_REPORT_HTML_H
#define WARMSIDE_REPORT_HTML_H

#include <stdio.h>

/* The text with & < > " and ' escaped: for element content and for attribute
 * values in double quotes. */
void html_text(FILE *out, const char *text);

/* " name=\"text\"", escaped. */
void html_attribute(FILE *out, const char *name, const char *text);

#endif
