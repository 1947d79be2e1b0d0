/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Memory that is always there; see memory.h.
 */
#include "conf/memory.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void *or_die(void *memory)
{
	if (!memory) {
		fputs("out of memory\n", stderr);
		abort();
	}
	return memory;
}

void *must_calloc(size_t count, size_t size)
{
	return or_die(calloc(count ? count : 1, size));
}

void *must_resize(void *array, size_t count, size_t size)
{
	if (size && count > SIZE_MAX / size)
		return or_die(NULL);
	return or_die(realloc(array, count && size ? count * size : 1));
}

void *must_grow(void *array, size_t count, size_t size)
{
	bool full = (count & (count - 1)) == 0; /* it has room for a power of two */

	return full ? must_resize(array, count ? 2 * count : 1, size) : array;
}

char *must_copy(const char *text)
{
	return or_die(strdup(text));
}

char *must_vprint(const char *format, va_list arguments)
{
	char *text = NULL;

	return or_die(vasprintf(&text, format, arguments) < 0 ? NULL : text);
}

char *must_print(const char *format, ...)
{
	va_list arguments;
	char *text;

	va_start(arguments, format);
	text = must_vprint(format, arguments);
	va_end(arguments);
	return text;
}
