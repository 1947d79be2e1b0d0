/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Words for what may go wrong; see reading.h.
 */
#include "daemon/reading.h"

const char *cause_word(enum cause cause)
{
	static const char *const words[CAUSES] = {
		[NO_ANSWER] = "no_answer",	   [GARBLED] = "garbled",
		[WRONG_ADDRESS] = "wrong_address", [REFUSED] = "refused",
		[IMPLAUSIBLE] = "implausible",	   [SPIKE] = "spike",
	};

	return words[cause];
}
