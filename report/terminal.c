/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What standard output can show; see terminal.h.  This file alone knows what
 * is done about a character set that is not UTF-8.
 */
#include "report/terminal.h"

#include <errno.h>
#include <langinfo.h>
#include <locale.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/ioctl.h>
#include <sys/types.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/utf8.h"

/* ---- our own signs ---------------------------------------------------------- */

/* Every sign beyond ASCII that the report writes as text.  None begins another. */
static const struct sign {
	const char *text, *ascii;
} signs[] = {
	{ "°C", "C" }, { "°F", "F" },   { "·", "-" }, { "–", "-" },  { "—", "-" },
	{ "−", "-" },  { "…", "..." },  { "×", "x" }, { "±", "+-" }, { "²", "2" },
	{ "³", "3" },  { "\u00a0", " " }, { "\u200e", "" },
};

enum { SIGNS = sizeof signs / sizeof *signs };

enum { LONGEST_SIGN = 4 }; /* bytes */

enum { MOST_COLUMNS = 10000 }; /* more is a slip */

/* The sign at the begin of a text, or NULL. */
static const struct sign *sign_at(const char *text)
{
	for (size_t i = 0; i < SIGNS; i++)
		if (strncmp(text, signs[i].text, strlen(signs[i].text)) == 0)
			return &signs[i];
	return NULL;
}

/* Whether the bytes may become a sign when more follow. */
static bool begins_sign(const char *bytes, size_t length)
{
	for (size_t i = 0; i < SIGNS; i++)
		if (length < strlen(signs[i].text) && memcmp(signs[i].text, bytes, length) == 0)
			return true;
	return false;
}

/* ---- the filter ------------------------------------------------------------- */

/* Its bytes come as the stream's buffer is emptied: a sign may be torn apart. */
struct filter {
	FILE *sink;
	char held[LONGEST_SIGN + 1]; /* what may yet become a sign; ends in zero */
	size_t length;
};

static void drop(struct filter *filter, size_t count)
{
	filter->length -= count;
	memmove(filter->held, filter->held + count, filter->length + 1);
}

/* Writes what is held but for what may still become a sign. */
static void settle(struct filter *filter)
{
	while (filter->length && !begins_sign(filter->held, filter->length)) {
		const struct sign *sign = sign_at(filter->held);

		if (sign)
			fputs(sign->ascii, filter->sink);
		else
			fputc(filter->held[0], filter->sink);
		drop(filter, sign ? strlen(sign->text) : 1);
	}
}

static ssize_t filter_write(void *cookie, const char *bytes, size_t size)
{
	struct filter *filter = cookie;

	for (size_t i = 0; i < size; i++) {
		filter->held[filter->length++] = bytes[i];
		filter->held[filter->length] = '\0';
		settle(filter);
	}
	return ferror(filter->sink) ? 0 : (ssize_t)size;
}

static int filter_close(void *cookie)
{
	struct filter *filter = cookie;
	size_t written = fwrite(filter->held, 1, filter->length, filter->sink);
	bool good = written == filter->length;

	free(filter);
	return good ? 0 : EOF;
}

/* ---- the terminal ----------------------------------------------------------- */

struct terminal terminal_onto(FILE *sink, size_t width, bool colour, bool ascii)
{
	struct terminal terminal = { sink, sink, width, colour, ascii };

	if (!ascii)
		return terminal;
	struct filter *filter = must_calloc(1, sizeof *filter);
	FILE *file = fopencookie(filter, "w", (cookie_io_functions_t){ .write = filter_write,
								       .close = filter_close });

	if (!file) {
		free(filter);
		terminal.ascii = false; /* without memory for it: better unfiltered than nothing */
		return terminal;
	}
	filter->sink = sink;
	setvbuf(file, NULL, _IOLBF, 0); /* keeps its place among what goes to standard error */
	terminal.file = file;
	return terminal;
}

/* What the environment says of the character set, as POSIX orders it; of a
 * locale that is not installed its name is all there is. */
static bool speaks_utf8(void)
{
	static const char *const names[] = { "LC_ALL", "LC_CTYPE", "LANG" };
	locale_t locale = newlocale(LC_CTYPE_MASK, "", (locale_t)0);

	if (locale) {
		bool utf8 = strcmp(nl_langinfo_l(CODESET, locale), "UTF-8") == 0;

		freelocale(locale);
		return utf8;
	}
	for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
		const char *value = getenv(names[i]);

		if (value && *value)
			return strcasestr(value, "UTF-8") || strcasestr(value, "utf8");
	}
	return false;
}

static bool wants_colour(void)
{
	const char *none = getenv("NO_COLOR"), *kind = getenv("TERM");

	return !(none && *none) && kind && *kind && strcmp(kind, "dumb") != 0;
}

/* COLUMNS, when it is set to a number (POSIX, Base Definitions 8.3, from memory). */
static size_t width_wanted(size_t otherwise)
{
	const char *value = getenv("COLUMNS");
	char *end;
	long columns = value ? strtol(value, &end, 10) : 0;

	return columns > 0 && columns <= MOST_COLUMNS && !*end ? (size_t)columns : otherwise;
}

struct terminal terminal_open(void)
{
	struct winsize size = { 0 };

	if (!isatty(STDOUT_FILENO))
		return terminal_onto(stdout, width_wanted(0), false, false);
	/* A serial console may not know its width: no bound then. */
	if (ioctl(STDOUT_FILENO, TIOCGWINSZ, &size))
		size.ws_col = 0;
	return terminal_onto(stdout, width_wanted(size.ws_col), wants_colour(), !speaks_utf8());
}

bool terminal_close(struct terminal *terminal)
{
	FILE *file = terminal->file;
	bool good = true;

	if (file != terminal->sink) {
		good = !ferror(file);
		good = fclose(file) == 0 && good;
	}
	terminal->file = terminal->sink;
	return fflush(terminal->sink) == 0 && !ferror(terminal->sink) && good;
}

/* ---- inks ------------------------------------------------------------------- */

/* ECMA-48 (from memory).  Blue and, of the eight colours, the one that xterm
 * shows nearest to vermilion; both are told in words as well. */
const char *ink_on(const struct terminal *terminal, enum ink ink)
{
	static const char *const codes[] = {
		[INK_PLAIN] = "",           [INK_STRONG] = "\033[1m", [INK_BELOW] = "\033[34m",
		[INK_ABOVE] = "\033[31m", [INK_QUIET] = "\033[2m",
	};

	return terminal->colour ? codes[ink] : "";
}

const char *ink_off(const struct terminal *terminal, enum ink ink)
{
	return terminal->colour && ink != INK_PLAIN ? "\033[0m" : "";
}

/* ---- widths ----------------------------------------------------------------- */

static size_t character_width(uint32_t code)
{
	static const struct {
		uint32_t first, last;
		size_t width;
	} ranges[] = {
		{ 0x0300, 0x036f, 0 }, { 0x200b, 0x200f, 0 }, { 0xfe00, 0xfe0f, 0 },
		{ 0x1100, 0x115f, 2 }, { 0x2e80, 0xa4cf, 2 }, { 0xac00, 0xd7a3, 2 },
		{ 0xf900, 0xfaff, 2 }, { 0xfe30, 0xfe6f, 2 }, { 0xff00, 0xff60, 2 },
		{ 0xffe0, 0xffe6, 2 }, { 0x1f300, 0x1faff, 2 }, { 0x20000, 0x3fffd, 2 },
	};

	for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++)
		if (code >= ranges[i].first && code <= ranges[i].last)
			return ranges[i].width;
	return 1;
}

size_t text_width(const char *text)
{
	size_t width = 0;

	while (*text)
		width += character_width(utf8_take(&text));
	return width;
}

size_t terminal_columns(const struct terminal *terminal, const char *text)
{
	size_t width = 0;

	if (!terminal->ascii)
		return text_width(text);
	while (*text) {
		const struct sign *sign = sign_at(text);

		width += sign ? strlen(sign->ascii) : 1;
		text += sign ? strlen(sign->text) : 1;
	}
	return width;
}
