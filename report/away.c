/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Forecast -> verdict; see away.h.
 */
#include "report/away.h"

#include <math.h>

struct away away_judge(const struct forecast *forecast, double hours)
{
	double by = fmin(forecast->told.low, forecast->passes.low);

	/* Without the room's air nothing is to be relied on beyond what was seen. */
	if (!forecast->known ||
	    (!forecast->room_known && hours > forecast->followed && !(by <= forecast->followed)))
		return (struct away){ .verdict = AWAY_UNKNOWN };
	if (isfinite(by))
		return (struct away){ AWAY_NEEDS, by };
	return (struct away){ .verdict = isfinite(forecast->leaves.low) ? AWAY_TOLERABLE
									: AWAY_HOLDS };
}

const char *away_word(enum away_verdict verdict)
{
	static const char *const words[] = {
		[AWAY_NEEDS] = "needs somebody", [AWAY_TOLERABLE] = "tolerable",
		[AWAY_HOLDS] = "holds",
	};

	return verdict == AWAY_UNKNOWN ? NULL : words[verdict];
}
