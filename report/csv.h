/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Comma-separated lines as RFC 4180 describes them, with plain newlines.
 */
#ifndef WARMSIDE_REPORT_CSV_H
#define WARMSIDE_REPORT_CSV_H

#include <stdbool.h>
#include <stdio.h>

/* Each writes one field and what must stand before it; *first says that the
 * line has none yet, and is cleared. */
void csv_text(FILE *file, bool *first, const char *text); /* NULL: empty */
void csv_number(FILE *file, bool *first, bool present, double value);

#endif
