/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Walking over UTF-8; see utf8.h.
 */
#include "conf/utf8.h"

#include <string.h>

/* How many bytes follow the first one, and the least value that needs them. */
static int sequence(unsigned char first, uint32_t *value, uint32_t *least)
{
	if (first < 0x80) {
		*value = first;
		*least = 0;
		return 0;
	}
	if (first >= 0xc0 && first < 0xe0) {
		*value = first & 0x1f;
		*least = 0x80;
		return 1;
	}
	if (first >= 0xe0 && first < 0xf0) {
		*value = first & 0x0f;
		*least = 0x800;
		return 2;
	}
	*value = first & 0x07;
	*least = 0x10000;
	return first >= 0xf0 && first < 0xf8 ? 3 : -1;
}

uint32_t utf8_take(const char **at)
{
	const char *here = *at;
	uint32_t value, least;
	int more = sequence((unsigned char)*here, &value, &least);

	++*at;
	if (more < 0)
		return UTF8_BAD;
	for (int i = 1; i <= more; i++) {
		unsigned char byte = (unsigned char)here[i];

		if ((byte & 0xc0) != 0x80)
			return UTF8_BAD;
		value = value << 6 | (byte & 0x3f);
	}
	if (value < least || value > 0x10ffff || (value >= 0xd800 && value <= 0xdfff))
		return UTF8_BAD;
	*at = here + 1 + more;
	return value;
}

static bool is_control(uint32_t value)
{
	return value < 0x20 || (value >= 0x7f && value <= 0x9f);
}

size_t utf8_count(const char *text)
{
	size_t count = 0;

	for (; *text; text++)
		count += ((unsigned char)*text & 0xc0) != 0x80;
	return count;
}

size_t utf8_bytes(const char *text, size_t characters)
{
	size_t bytes = 0, count = 0;

	for (; text[bytes]; bytes++) {
		count += ((unsigned char)text[bytes] & 0xc0) != 0x80;
		if (count > characters)
			break;
	}
	return bytes;
}

bool utf8_is_line(const char *text, size_t most)
{
	size_t count = 0;

	while (*text != '\0') {
		uint32_t value = utf8_take(&text);

		if (value == UTF8_BAD || is_control(value) || ++count > most)
			return false;
	}
	return true;
}

char *utf8_brief(const char *text, char buf[BRIEF_TEXT])
{
	static const char more[] = "...";
	size_t length = 0;

	while (*text != '\0') {
		const char *from = text;
		uint32_t value = utf8_take(&text);
		size_t bytes = (size_t)(text - from);

		if (length + bytes + sizeof more > BRIEF_TEXT) {
			memcpy(buf + length, more, sizeof more);
			return buf;
		}
		if (value == UTF8_BAD || is_control(value)) {
			buf[length++] = '?';
		} else {
			memcpy(buf + length, from, bytes);
			length += bytes;
		}
	}
	buf[length] = '\0';
	return buf;
}

void utf8_mend(char *text)
{
	const char *at = text;

	while (*at != '\0') {
		const char *from = at;
		uint32_t value = utf8_take(&at);

		if (value == UTF8_BAD || (is_control(value) && value != '\t')) {
			*text++ = '?';
		} else {
			memmove(text, from, (size_t)(at - from));
			text += at - from;
		}
	}
	*text = '\0';
}
