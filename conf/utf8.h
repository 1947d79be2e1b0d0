/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Walking over UTF-8 (RFC 3629): what is not UTF-8 is noticed, not repaired.
 */
#ifndef WARMSIDE_CONF_UTF8_H
#define WARMSIDE_CONF_UTF8_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { UTF8_BAD = 0xffffffff };

/* The character at *at, which moves behind it; UTF8_BAD when the bytes there
 * are none (over-long, surrogate, beyond U+10FFFF, cut short): *at then moves
 * by one byte.  Not to be called at the terminating zero. */
uint32_t utf8_take(const char **at);

/* How many characters the text has; what is no UTF-8 counts by its bytes that
 * could begin one. */
size_t utf8_count(const char *text);

/* The bytes of at most its first `characters`, counted as utf8_count does. */
size_t utf8_bytes(const char *text, size_t characters);

/* True when the text is UTF-8 of at most `most` characters and holds no
 * control characters (C0, DEL, C1). */
bool utf8_is_line(const char *text, size_t most);

/* Copies text for showing it in a sentence: control characters and broken
 * bytes become '?', what is longer than a line of text ends in "...".
 * Returns buf. */
enum { BRIEF_TEXT = 64 };
char *utf8_brief(const char *text, char buf[BRIEF_TEXT]);

/* Puts '?' in the place of each broken byte and control character but tabs, so
 * that the text can be shown, written and compared.  It never gets longer. */
void utf8_mend(char *text);

#endif
