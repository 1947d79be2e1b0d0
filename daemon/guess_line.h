/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How one line of an unknown board may be read.  Pure.
 */
#ifndef WARMSIDE_DAEMON_GUESS_LINE_H
#define WARMSIDE_DAEMON_GUESS_LINE_H

#include <stddef.h>

#include "conf/template.h"

enum { GUESS_WAYS = 3 };        /* most ways to read a line */

/* The templates this line alone suggests, which differ in where its name ends;
 * not all need be good ones.  Returns how many; 0 when it holds no number. */
size_t guess_ways(const char *line, char ways[GUESS_WAYS][TEMPLATE_MOST + 1]);

#endif
