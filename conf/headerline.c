/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Header lines and media types; see headerline.h.
 */
#include "conf/headerline.h"

#include <stddef.h>
#include <string.h>
#include <strings.h>

#include "conf/memory.h"
#include "conf/utf8.h"

/* RFC 9110, 5.6.2: how many bytes of a token stand here. */
static size_t token_length(const char *text)
{
	return strspn(text, "!#$%&'*+-.^_`|~0123456789"
			    "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ");
}

/* What each post carries already, or what would break it; NULL when the name
 * is none of these. */
static const char *own_header(const char *name, size_t length)
{
	static const char *const own[] = {
		"Content-Type",      "Content-Length", "Host",
		"Transfer-Encoding", "webhook-id",     "webhook-timestamp",
		"webhook-signature", "Expect",         "Connection",
	};

	for (size_t i = 0; i < sizeof own / sizeof *own; i++)
		if (strlen(own[i]) == length && strncasecmp(own[i], name, length) == 0)
			return own[i];
	return NULL;
}

char *headerline_read(const char *text, char **out)
{
	size_t name = token_length(text), length;
	const char *own = own_header(text, name), *value;

	if (!utf8_is_line(text, HEADER_MOST))
		return must_print("must be one line of at most %d characters", HEADER_MOST);
	if (name == 0 || text[name] != ':')
		return must_copy("must be written \"Name: value\", the name of letters, digits and "
				 "any of !#$%&'*+-.^_`|~");
	if (own)
		return must_print("%s is set by Warmside itself%s", own,
				  strcmp(own, "Content-Type") == 0
					  ? "; beside a template stands content_type = \"...\""
					  : "");
	value = text + name + 1;
	value += strspn(value, " ");
	length = strlen(value);
	while (length > 0 && value[length - 1] == ' ')
		length--;
	if (length == 0)
		return must_copy("has no value behind its name");
	*out = must_print("%.*s: %.*s", (int)name, text, (int)length, value);
	return NULL;
}

/* A quoted string of visible characters and blanks, from its quote on: how
 * many bytes; 0 when it has no end. */
static size_t quoted_length(const char *text)
{
	const char *at = text + 1;

	for (; *at != '"'; at++) {
		if (*at == '\\')
			at++;
		if (*at < ' ' || *at > '~')
			return 0;
	}
	return (size_t)(at + 1 - text);
}

/* From the ; on: name=value, the value a token or a quoted string.  How many
 * bytes; 0 when it is none. */
static size_t parameter_length(const char *text)
{
	size_t at = 1 + strspn(text + 1, " ");
	size_t name = token_length(text + at), value;

	if (name == 0 || text[at + name] != '=')
		return 0;
	at += name + 1;
	value = text[at] == '"' ? quoted_length(text + at) : token_length(text + at);
	return value == 0 ? 0 : at + value;
}

bool is_media_type(const char *text)
{
	size_t type = token_length(text), subtype;

	if (type == 0 || text[type] != '/')
		return false;
	subtype = token_length(text + type + 1);
	if (subtype == 0)
		return false;
	text += type + 1 + subtype;
	for (text += strspn(text, " "); *text == ';'; text += strspn(text, " ")) {
		size_t parameter = parameter_length(text);

		if (parameter == 0)
			return false;
		text += parameter;
	}
	return *text == '\0';
}
