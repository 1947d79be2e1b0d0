/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Memory that is always there: each function returns memory the caller
 * frees, or ends the program with one sentence on standard error.  A watch
 * that cannot get a few bytes is better started anew by its service manager
 * than carried on half blind.
 */
#ifndef WARMSIDE_CONF_MEMORY_H
#define WARMSIDE_CONF_MEMORY_H

#include <stdarg.h>
#include <stddef.h>

/* count zeroed things of that size; never NULL, also for a count of 0. */
void *must_calloc(size_t count, size_t size);

/* Like realloc for an array; never NULL. */
void *must_resize(void *array, size_t count, size_t size);

/* Room for one thing more in an array of that many, which nothing but this has made
 * longer: to twice as many whenever it is full, so that adding one by one costs no
 * more than adding all. */
void *must_grow(void *array, size_t count, size_t size);

char *must_copy(const char *text);

char *must_print(const char *format, ...) __attribute__((format(printf, 1, 2)));
char *must_vprint(const char *format, va_list arguments) __attribute__((format(printf, 1, 0)));

#endif
