/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Reading configuration files; see configtext.h.
 */
#include "conf/configtext.h"

#include <errno.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "conf/utf8.h"

char *unreadable(int error, size_t ceiling)
{
	if (error == EISDIR)
		return must_copy("is a folder, not a file");
	if (error == EFBIG)
		return must_print("is longer than %zu KiB, which no configuration needs",
				  ceiling / 1024);
	return must_print("cannot be read: %s", strerror(error));
}

/* The first byte no text file has, or NULL. */
static const char *find_binary(const char *text, size_t size)
{
	for (size_t i = 0; i < size; i++) {
		unsigned char c = (unsigned char)text[i];

		if ((c < 0x20 && !strchr("\t\n\r\f", c)) || c == '\0' || c == 0x7f)
			return text + i;
	}
	return NULL;
}

static int line_of(const char *text, const char *at)
{
	int line = 1;

	for (; text < at; text++)
		if (*text == '\n')
			line++;
	return line;
}

/* Puts '?' in the place of bytes that are not UTF-8; tells of the first. */
static void mend_utf8(char *text, const char *path, struct faults *faults)
{
	bool told = false;

	for (const char *at = text; *at != '\0';) {
		char *here = text + (at - text);

		if (utf8_take(&at) != UTF8_BAD)
			continue;
		if (!told)
			fault_add(faults, path, line_of(text, here),
				  "byte 0x%02x is not UTF-8; save the file as UTF-8",
				  (unsigned char)*here);
		told = true;
		*here = '?';
	}
}

static bool is_blank(const char *text)
{
	return text[strspn(text, " \t\r\n\f")] == '\0';
}

char *configtext_read(const char *path, const char *asked_file, int asked_line,
		      struct faults *faults)
{
	static const char mark[] = "\xef\xbb\xbf";
	size_t size = 0;
	char *text = file_read(path, CONFIG_BYTES, &size);
	const char *binary;

	if (!text) {
		char *why = unreadable(errno, CONFIG_BYTES);

		fault_add(faults, asked_file, asked_line, "%s %s", path, why);
		free(why);
		return NULL;
	}
	if (strncmp(text, mark, 3) == 0) {
		fault_add(faults, path, 1,
			  "the file begins with a byte order mark; save it as UTF-8 without one");
		memset(text, ' ', 3);
	}
	binary = find_binary(text, size);
	if (binary)
		fault_add(faults, path, line_of(text, binary),
			  "byte 0x%02x belongs to no text; a configuration is a plain UTF-8 text "
			  "file",
			  (unsigned char)*binary);
	else if (is_blank(text))
		fault_add(faults, path, 1, "the file is empty");
	else {
		mend_utf8(text, path, faults);
		return text;
	}
	free(text);
	return NULL;
}
