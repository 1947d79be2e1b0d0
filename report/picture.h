/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where the picture a command draws goes, and as what.
 */
#ifndef WARMSIDE_REPORT_PICTURE_H
#define WARMSIDE_REPORT_PICTURE_H

#include "report/request.h"

/* What --format says, else the file's ending, else PNG. */
bool picture_is_svg(const struct request *request);

/* False after a sentence when it would go to a terminal. */
bool picture_has_place(const struct request *request);

/* Into the file of -o, else to standard output, or says the trouble it could not be drawn
 * for, when bytes is NULL; DONE, or FAILED after a sentence.  Frees bytes and trouble. */
int picture_write(const struct request *request, unsigned char *bytes, size_t size,
		  char *trouble);

#endif
