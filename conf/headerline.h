/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Header lines and media types of HTTP, as a keeper may write them (RFC 9110).
 * Pure.
 */
#ifndef WARMSIDE_CONF_HEADERLINE_H
#define WARMSIDE_CONF_HEADERLINE_H

#include <stdbool.h>

enum { HEADER_MOST = 2000 }; /* characters of a header line, and of a media type */

/* Reads "Name: value".  Returns NULL and puts the line into *out, with one
 * blank behind the colon and none at its ends; the caller frees.  Or returns
 * what is wrong, as the end of a sentence that shows nothing of the value;
 * the caller frees, and *out is left alone. */
char *headerline_read(const char *text, char **out);

/* "text/plain; charset=utf-8": RFC 9110, 8.3.1. */
bool is_media_type(const char *text);

#endif
