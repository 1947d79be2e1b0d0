/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Forecast -> verdict; see away.h.
 */
#include "report/away.h"

#include <math.h>

struct away away_judge(const struct forecast *forecast, const struct away_case *away)
{
	double left = fmax(away->patience - away->used, 0) / 3600;

	if (!forecast->known)
		return (struct away){ .verdict = AWAY_UNKNOWN };
	if (isinf(forecast->leaves.low) && isinf(forecast->passes.low))
		return (struct away){ .verdict = AWAY_HOLDS };
	if (forecast->longest.high <= left && isinf(forecast->passes.low))
		return (struct away){ .verdict = AWAY_TOLERABLE };
	return (struct away){ AWAY_NEEDS, fmin(fmin(forecast->leaves.low + left,
						    forecast->passes.low), away->hours) };
}

const char *away_word(enum away_verdict verdict)
{
	static const char *const words[] = {
		[AWAY_NEEDS] = "needs somebody", [AWAY_TOLERABLE] = "tolerable",
		[AWAY_HOLDS] = "holds",
	};

	return verdict == AWAY_UNKNOWN ? NULL : words[verdict];
}
