/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes with readings; see reading.h.
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

double longest_line(double every)
{
	return 3 * every + 1e-6;
}
