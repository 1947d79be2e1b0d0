/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Water vapour in air; see air.h for the sources.
 */
#include "conf/air.h"

#include <math.h>

static const double KELVIN = 273.15;
static const double VAPOUR_GAS = 461.52;        /* J/(kg K) */
static const double GRAMS = 1000;               /* g/kg */

double air_saturation_pressure(double celsius)
{
	double t = celsius + KELVIN;

	return exp(-6096.9385 / t + 21.2409642 - 2.711193e-2 * t + 1.673952e-5 * t * t +
		   2.433502 * log(t));
}

double air_vapour_density(double celsius, double humidity)
{
	double pressure = air_saturation_pressure(celsius) * humidity / 100;

	return GRAMS * pressure / (VAPOUR_GAS * (celsius + KELVIN));
}
