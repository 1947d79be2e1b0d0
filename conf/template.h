/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The template of a text line a board prints, such as
 * "{probe},{temperature},{humidity}": which fields it holds.  {} skips.
 */
#ifndef WARMSIDE_CONF_TEMPLATE_H
#define WARMSIDE_CONF_TEMPLATE_H

#include <stdbool.h>

enum { TEMPLATE_MOST = 200 };           /* bytes */

struct template_fields {
	bool probe;             /* the line names its probe */
	bool temperature;       /* in °C or °F */
	bool fahrenheit;
	bool humidity;
};

/* Fills *out and returns NULL, or returns what is wrong with the template,
 * as the end of a sentence; the caller frees it. */
char *template_read(const char *text, struct template_fields *out);

#endif
