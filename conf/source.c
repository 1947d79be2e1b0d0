/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A source, key by key; see source.h.
 */
#include "conf/source.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

static const char *const words[SOURCE_KEYS] = { "day",      "night", "limits",
						"patience", "daily", "limits_patience" };

const char *source_word(enum source_key key)
{
	return words[key];
}

static const char *skip_blanks(const char *text)
{
	return text + strspn(text, " \t");
}

/* The key's name at the beginning of the text, or SOURCE_KEYS; *text goes behind it.
 * One name begins another: the longest that fits is meant. */
static enum source_key take_word(const char **text)
{
	enum source_key found = SOURCE_KEYS;
	size_t longest = 0;

	for (int key = 0; key < SOURCE_KEYS; key++) {
		size_t length = strlen(words[key]);

		if (length > longest && strncmp(*text, words[key], length) == 0) {
			found = (enum source_key)key;
			longest = length;
		}
	}
	*text += longest;
	return found;
}

/* Whether the part begins with keys and a colon: *text then goes behind it, and of[]
 * says which.  A title may have a colon too, so it must be keys and nothing else. */
static bool take_label(const char **text, bool of[SOURCE_KEYS])
{
	const char *at = skip_blanks(*text);
	bool found[SOURCE_KEYS] = { false };

	for (;;) {
		enum source_key key = take_word(&at);

		if (key == SOURCE_KEYS)
			return false;
		found[key] = true;
		at = skip_blanks(at);
		if (*at != ',')
			break;
		at = skip_blanks(at + 1);
	}
	if (*at != ':')
		return false;
	*text = at + 1;
	memcpy(of, found, sizeof found);
	return true;
}

/* Puts the text before its end behind what is there already. */
static char *append(char *there, const char *text, const char *end)
{
	char *joined;

	text = skip_blanks(text);
	while (end > text && (end[-1] == ' ' || end[-1] == '\t'))
		end--;
	if (end <= text)
		return there;
	joined = must_print("%s%s%.*s", there ? there : "", there ? "; " : "", (int)(end - text), text);
	free(there);
	return joined;
}

char *source_part(const char *source, enum source_key key)
{
	bool of[SOURCE_KEYS] = { true, true, true, true, true, true };
	char *found = NULL;

	if (!source)
		return NULL;
	for (const char *text = source, *end; text; text = *end ? end + 1 : NULL) {
		end = text + strcspn(text, ";");
		take_label(&text, of);
		if (of[key])
			found = append(found, text, end);
	}
	return !found && key == SOURCE_NIGHT ? source_part(source, SOURCE_DAY) : found;
}
