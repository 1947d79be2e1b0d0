/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a source in conf/species.conf claims; see species_spot.h.
 */
#include "tests/species_spot.h"

#include <stdlib.h>
#include <string.h>

bool claim_pass(const char **text, const char *words)
{
	size_t length = strlen(words);

	if (strncmp(*text, words, length) != 0)
		return false;
	*text += length;
	return true;
}

/* Goes behind one of the forms a source may have; false when it has none. */
static bool take_form(const struct published *published, const char **text, const char **title)
{
	static const char *const plain[] = { "memory", "hobby page, unreviewed" };

	*title = NULL;
	if (claim_pass(text, "common practice, no source"))
		return true;
	for (size_t i = 0; i < sizeof plain / sizeof *plain; i++)
		if (claim_pass(text, plain[i])) {
			*title = plain[i];
			return true;
		}
	for (size_t i = 0; i < published->document_count; i++) {
		const struct document *document = &published->documents[i];
		const char *at = *text;

		if (claim_pass(&at, document->title) && claim_pass(&at, ", ") &&
		    claim_pass(&at, document->year) && claim_pass(&at, ", ") &&
		    claim_pass(&at, document->weight)) {
			*text = at;
			*title = document->title;
			return true;
		}
	}
	return false;
}

/* "(32, and 1 C either way)": the figure is 32, the edge 1 beside it. */
static void take_note(const char **text, struct claim *out)
{
	size_t length, numbers = 0;
	double found[2] = { 0 };

	if (!claim_pass(text, " ("))
		return;
	length = strcspn(*text, ")");
	for (const char *at = *text; at < *text + length;) {
		char *end;
		double number;

		at += strcspn(at, "0123456789)");
		if (at >= *text + length)
			break;
		number = strtod(at, &end);
		if (numbers < 2)
			found[numbers] = number;
		numbers++;
		at = end;
	}
	out->widened = numbers == 2;
	out->of = found[0];
	out->by = found[1];
	*text += length + ((*text)[length] == ')');
}

bool claim_take(const struct published *published, const char **text, struct claim *out)
{
	static const struct {
		const char *word;
		bool low, high;
	} ends[] = {
		{ "lowest ", true, false }, { "lower ", true, false },
		{ "highest ", false, true }, { "upper ", false, true },
	};

	*out = (struct claim){ .low = true, .high = true };
	for (size_t i = 0; i < sizeof ends / sizeof *ends; i++)
		if (claim_pass(text, ends[i].word)) {
			out->low = ends[i].low;
			out->high = ends[i].high;
			break;
		}
	claim_pass(text, "from ");
	if (!take_form(published, text, &out->title))
		return false;
	take_note(text, out);
	return true;
}
