/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * air_grid: reads lines "TEMPERATURE HUMIDITY" (°C, %) and prints for each, apart
 * by tabs: both again, saturation pressure and vapour pressure deficit (Pa), dew
 * or frost point (°C), "water" or "ice", vapour density (g/m³) and dew point (°C).
 * For run-psychrolib.sh and run-dewpoint.sh.
 */
#include <stdio.h>

#include "conf/air.h"

int main(void)
{
	double t, rh;
	int got;

	while ((got = scanf("%lf %lf", &t, &rh)) == 2) {
		bool ice = air_frosts(t, rh);

		printf("%g\t%g\t%.6f\t%.6f\t%.6f\t%s\t%.7f\t%.6f\n", t, rh,
		       air_saturation_pressure(t), air_vapour_deficit(t, rh),
		       ice ? air_frost_point(t, rh) : air_dew_point(t, rh), ice ? "ice" : "water",
		       air_vapour_density(t, rh), air_dew_point(t, rh));
	}
	if (got != EOF) {
		fputs("air_grid: a line is not TEMPERATURE HUMIDITY\n", stderr);
		return 1;
	}
	return 0;
}
