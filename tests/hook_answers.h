/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answers a partner_hook gives, each called by a word.
 */
#ifndef WARMSIDE_TESTS_HOOK_ANSWERS_H
#define WARMSIDE_TESTS_HOOK_ANSWERS_H

#include <stdbool.h>
#include <stddef.h>

#define ANSWER_HELP                                                                        \
	"STATUS            an empty answer; a 503 says Retry-After: 2, a 302 /elsewhere\n" \
	"STATUS:SECONDS    with a Retry-After of so many seconds\n"                        \
	"STATUS@SECONDS    the same as a date so far from now\n"                           \
	"STATUS+MEGABYTES  with a body of that length\n"                                   \
	"endless           200 and a body that never ends\n"                               \
	"headers           503 and headers that never end\n"                               \
	"strange           a status of five digits\n"                                      \
	"hang, reset, slow no answer, no connection, 200 after 3 s\n"

struct answer {
	bool hangs, resets;
	bool stays;             /* the connection is not closed after it */
	double delay;           /* s before it */
	char *text;             /* malloc'ed */
	const char *pad;        /* repeated behind the text */
	size_t pads;            /* how often */
};

/* False when there is no such word. */
bool answer_known(const char *word);

struct answer answer_of(const char *word);

#endif
