/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Words on the lines of a terminal; see fill.h and terminal.h.
 */
#include "report/fill.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

struct fill fill_begin(const struct terminal *terminal, size_t indent, size_t hanging)
{
	return (struct fill){ .terminal = terminal, .indent = indent, .hanging = hanging };
}

void fill_break(struct fill *fill)
{
	if (!fill->open)
		return;
	fputc('\n', fill->terminal->file);
	fill->open = false;
}

void fill_keep(struct fill *fill, size_t columns)
{
	size_t width = fill->terminal->width;

	if (fill->open && width && fill->used + columns > width)
		fill_break(fill);
}

static void put_word(struct fill *fill, enum ink ink, size_t gap, const char *word)
{
	const struct terminal *terminal = fill->terminal;
	size_t columns = terminal_columns(terminal, word);

	fill_keep(fill, gap + columns);
	if (!fill->open) {
		gap = fill->indent;
		fill->indent = fill->hanging;
		fill->used = 0;
		fill->open = true;
	}
	fprintf(terminal->file, "%*s%s%s%s", (int)gap, "", ink_on(terminal, ink), word,
		ink_off(terminal, ink));
	fill->used += gap + columns;
}

/* Whether a unit stands there, and no longer word. */
static bool is_unit(const char *text)
{
	static const char *const units[] = { "%", "°C", "°F", "h", "min", "s", "d" };

	for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
		size_t length = strlen(units[i]);

		if (strncmp(text, units[i], length) == 0 && !isalnum((unsigned char)text[length]))
			return true;
	}
	return false;
}

/* Bytes up to the next blank at which a line may be broken: not between a
 * number and its unit. */
static size_t word_length(const char *text)
{
	size_t length = strcspn(text, " ");

	if (length && isdigit((unsigned char)text[length - 1]) && text[length] &&
	    is_unit(text + length + 1))
		length += 1 + strcspn(text + length + 1, " ");
	return length;
}

void fill_text(struct fill *fill, enum ink ink, size_t gap, const char *text)
{
	text += strspn(text, " ");
	while (*text) {
		size_t length = word_length(text);
		char *word = must_print("%.*s", (int)length, text);

		put_word(fill, ink, gap, word);
		free(word);
		gap = strspn(text + length, " ");
		text += length + gap;
	}
}

void terminal_say(const struct terminal *terminal, size_t indent, const char *text)
{
	struct fill fill = fill_begin(terminal, indent, indent);

	fill_text(&fill, INK_PLAIN, 0, text);
	fill_break(&fill);
}

void terminal_print(const struct terminal *terminal, size_t indent, const char *format, ...)
{
	va_list arguments;
	char *text;

	va_start(arguments, format);
	text = must_vprint(format, arguments);
	va_end(arguments);
	terminal_say(terminal, indent, text);
	free(text);
}
