/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air outside the house; see weather.h.  The figures are made up to look
 * like a mild, damp town; no station's record stands behind them.
 */
#include "contrib/roomsim/weather.h"

#include <math.h>

#include "contrib/roomsim/model.h"
#include "contrib/roomsim/noise.h"

static const double YEAR = 365.2425 * 86400, DAY = 86400;
static const double COLDEST = 20 * 86400.0;     /* s after New Year's midnight */
static const double WARMEST_HOUR = 14.5;

/* Streams of chance that no probe or enclosure uses. */
enum { FRONTS = 1 << 30, SQUALLS, DAMPNESS };

struct outdoor weather_at(uint64_t seed, double time, double clock)
{
	double turn = 2 * M_PI;
	double season = 10 - 7 * cos(turn * (time - COLDEST) / YEAR);
	double daily = 2.5 * cos(turn * (clock / 3600 - WARMEST_HOUR) / 24);
	double fronts = 3.5 * noise_smooth(seed, FRONTS, time / (2.5 * DAY)) +
			0.8 * noise_smooth(seed, SQUALLS, time / 7200);
	double humidity = 82 - 2.2 * daily + 10 * noise_smooth(seed, DAMPNESS, time / DAY);
	struct outdoor air = { .temperature = season + daily + fronts };

	air.vapour = vapour_density(air.temperature, fmin(fmax(humidity, 35), 100));
	return air;
}
