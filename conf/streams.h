/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Standard input, output and error as a program finds them.
 */
#ifndef WARMSIDE_CONF_STREAMS_H
#define WARMSIDE_CONF_STREAMS_H

/* Whoever started the program may have closed one of them; then the next file
 * opened would get its number, and a sentence meant for people would be
 * written into an archive or sent to a probe.  Fills each gap with what takes
 * and gives nothing (EBADF), before anything else is opened. */
void streams_fill(void);

#endif
