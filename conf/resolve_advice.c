/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * advice sections; see resolve_advice.h.
 */
#include "conf/resolve_advice.h"

#include "conf/advice.h"
#include "conf/memory.h"

enum { ADVICE_MOST = 400 }; /* characters */

void advice_read(struct resolve *resolve, struct section section, const char *out[ADVICES])
{
	if (section_count(section, "advice") == 0)
		return;
	section = section_at(section, "advice", 0);
	for (int i = 0; i < ADVICES; i++)
		take_text(resolve, section, advice_word((enum advice)i), ADVICE_MOST, &out[i]);
}

void advice_keep(const char *const texts[ADVICES], char *out[ADVICES])
{
	for (int i = 0; i < ADVICES; i++)
		if (texts[i])
			out[i] = must_copy(texts[i]);
}
