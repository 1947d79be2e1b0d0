/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Water vapour in air; see air.h for the sources.
 */
#include "conf/air.h"

#include <math.h>

static const double KELVIN = 273.15;
static const double COLDEST = -100, HOTTEST = 100; /* °C */
static const double MOST = 1000;                   /* % or g/m³ */
static const double VAPOUR_GAS = 461.52;           /* J/(kg K) */
static const double GRAMS = 1000;                  /* g/kg */

/* e = AT_ZERO exp(FACTOR t / (OFFSET + t)), Pa and °C. */
static const double AT_ZERO = 611.2;
static const double WATER_FACTOR = 17.62, WATER_OFFSET = 243.12;
static const double ICE_FACTOR = 22.46, ICE_OFFSET = 272.62;

static bool in_range(double celsius)
{
	return celsius >= COLDEST && celsius <= HOTTEST;
}

/* A humidity or a density. */
static bool is_amount(double value)
{
	return value >= 0 && value <= MOST;
}

/* ln e over water, T in K. */
static double log_pressure(double t)
{
	return -6096.9385 / t + 21.2409642 - 2.711193e-2 * t + 1.673952e-5 * t * t +
	       2.433502 * log(t);
}

double air_saturation_pressure(double celsius)
{
	return in_range(celsius) ? exp(log_pressure(celsius + KELVIN)) : NAN;
}

double air_ice_pressure(double celsius)
{
	if (!in_range(celsius) || celsius > 0)
		return NAN;
	return AT_ZERO * exp(ICE_FACTOR * celsius / (ICE_OFFSET + celsius));
}

/* Pa; NAN out of range, and so is all that is made of it. */
static double vapour_pressure(double celsius, double humidity)
{
	return is_amount(humidity) ? air_saturation_pressure(celsius) * humidity / 100 : NAN;
}

double air_vapour_density(double celsius, double humidity)
{
	return GRAMS * vapour_pressure(celsius, humidity) / (VAPOUR_GAS * (celsius + KELVIN));
}

double air_vapour_deficit(double celsius, double humidity)
{
	return is_amount(humidity) ? air_saturation_pressure(celsius) * (100 - humidity) / 100
				   : NAN;
}

/* The temperature at which e is AT_ZERO exp(x). */
static double closed_inverse(double x, double factor, double offset)
{
	return offset * x / (factor - x);
}

double air_dew_point(double celsius, double humidity)
{
	double x, dew;

	if (!in_range(celsius) || !is_amount(humidity))
		return NAN;
	x = log(humidity / 100) + WATER_FACTOR * celsius / (WATER_OFFSET + celsius);
	dew = humidity > 0 ? closed_inverse(x, WATER_FACTOR, WATER_OFFSET) : COLDEST;
	return x < WATER_FACTOR && dew <= HOTTEST ? fmax(dew, COLDEST) : NAN;
}

double air_frost_point(double celsius, double humidity)
{
	double pressure = vapour_pressure(celsius, humidity);

	if (isnan(pressure))
		return NAN;
	if (pressure >= AT_ZERO)
		return 0;
	if (pressure <= air_ice_pressure(COLDEST))
		return COLDEST;
	return closed_inverse(log(pressure / AT_ZERO), ICE_FACTOR, ICE_OFFSET);
}

bool air_frosts(double celsius, double humidity)
{
	return vapour_pressure(celsius, humidity) < air_saturation_pressure(0);
}

double air_humidity_at(double celsius, double density)
{
	double full = air_vapour_density(celsius, 100);

	return is_amount(density) ? 100 * density / full : NAN;
}

double air_humidity_elsewhere(double celsius, double humidity, double celsius_there)
{
	return 100 * vapour_pressure(celsius, humidity) / air_saturation_pressure(celsius_there);
}
