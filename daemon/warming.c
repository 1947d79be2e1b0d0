/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which probe is being warmed; see warming.h.
 */
#include "daemon/warming.h"

#include <math.h>
#include <string.h>

/* A hand does several °C within a minute or two, a room and its heaters hardly
 * half of one; a probe wavers by a tenth or two (common practice, no source). */
static const double least_rise = 0.5, wavering = 0.2;

void warming_take(struct warming *warming, double time, double value)
{
	size_t old = 0;

	if (!warming->begun)
		warming->first = value;
	warming->begun = true;
	/* What is faster than the step stands in for its last value. */
	if (warming->count >= 2 && time - warming->kept[warming->count - 2].time < WARMING_STEP)
		warming->count--;
	while (old < warming->count && time - warming->kept[old].time > WARMING_SECONDS)
		old++;
	if (old == 0 && warming->count == WARMING_KEPT)
		old = 1;
	warming->count -= old;
	memmove(warming->kept, warming->kept + old, warming->count * sizeof *warming->kept);
	warming->kept[warming->count].time = time;
	warming->kept[warming->count++].value = value;
}

double warming_change(const struct warming *warming)
{
	return warming->count ? warming->kept[warming->count - 1].value - warming->first : 0;
}

double warming_rise(const struct warming *warming)
{
	double low = INFINITY, high = -INFINITY, latest, rise;

	if (warming->count == 0)
		return 0;
	for (size_t i = 0; i < warming->count; i++) {
		low = fmin(low, warming->kept[i].value);
		high = fmax(high, warming->kept[i].value);
	}
	latest = warming->kept[warming->count - 1].value;
	rise = latest - low;
	return rise >= least_rise && latest >= high - wavering ? rise : 0;
}
