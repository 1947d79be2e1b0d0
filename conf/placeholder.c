/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Fields of a template; see placeholder.h.
 */
#include "conf/placeholder.h"

#include <string.h>

static const char *const words[FIELDS] = {
	[FIELD_TITLE] = "title",         [FIELD_TEXT] = "text", [FIELD_PRIORITY] = "priority",
	[FIELD_ENCLOSURE] = "enclosure", [FIELD_ID] = "id",
};

const char *placeholder_word(enum field field)
{
	return words[field];
}

static bool is_known(const char *word, size_t length)
{
	for (int f = 0; f < FIELDS; f++)
		if (strlen(words[f]) == length && strncmp(words[f], word, length) == 0)
			return true;
	return false;
}

const char *placeholder_unknown(const char *template, size_t *length)
{
	for (const char *at = template; (at = strchr(at, '{')) != NULL;) {
		*length = strspn(++at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ");
		if (*length > 0 && at[*length] == '}' && !is_known(at, *length))
			return at;
	}
	return NULL;
}
