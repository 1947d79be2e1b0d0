/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Water vapour in air, from temperature and relative humidity.  Pure.
 *
 * Everywhere below: temperatures in °C, -100..100; humidity is relative to
 * liquid water, also below 0 °C, in %, 0..1000 (above 100 is supersaturated and
 * calculated like the rest); densities in g/m³, 0..1000.  In that range each
 * result is a number; outside it, and for what is not a number, it is NAN: unknown.
 */
#ifndef WARMSIDE_CONF_AIR_H
#define WARMSIDE_CONF_AIR_H

#include <stdbool.h>

/* Saturation vapour pressure over liquid water, Pa, at a temperature in °C.
 * Source: D. Sonntag, "Important new values of the physical constants of 1986,
 * vapour pressure formulations based on the ITS-90, and psychrometer formulae",
 * Zeitschrift für Meteorologie 40 (1990) 340-344 (title and pages from memory):
 *
 *   ln e = -6096.9385/T + 21.2409642 - 2.711193e-2 T + 1.673952e-5 T^2 + 2.433502 ln T
 *
 * T in K; -100..100 °C, below 0 °C over supercooled water (range from memory).
 * Tolerance: 0.01 % of IAPWS-95 from 0 to 50 °C; 0.03 % of the ASHRAE table. */
double air_saturation_pressure(double celsius);

/* Saturation vapour pressure over ice, Pa, at -100..0 °C (NAN above 0).
 * Source: WMO-No. 8, Guide to Meteorological Instruments and Methods of
 * Observation, annex 4.B, eq. 4.B.3:
 *
 *   e = 611.2 exp(22.46 t / (272.62 + t))
 *
 * for -65..0 °C (range from memory).  Tolerance: 0.1 % of the IAPWS sublimation
 * equation of 2011 (from memory) from -60 to 0 °C, 0.2 % at -65, 3 % at -100. */
double air_ice_pressure(double celsius);

/* Vapour density ("absolute humidity"), g/m³: the gas law e / (R_v T) with
 * R_v = 8314.41 / 18.01528 = 461.52 J/(kg K), ASHRAE Handbook Fundamentals 2001,
 * ch. 6, eq. 2.  Real saturated vapour is denser: by 0.06 % at 275 K (IAPWS-95),
 * by 0.4 % at 50 °C (steam tables, from memory). */
double air_vapour_density(double celsius, double humidity);

/* Vapour pressure deficit, Pa: what the air could still take up, e_s(T) (1 - RH/100).
 * Negative above 100 %.  Of an instant: the deficit of a mean temperature is
 * below the mean of the deficits, so average results, not what they come from.
 * Source: FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), ch. 3.
 * Tolerance: that of the saturation pressure. */
double air_vapour_deficit(double celsius, double humidity);

/* The temperature in °C to which this air must cool, at the same pressure, to be
 * saturated over liquid water.  Source: WMO-No. 8, annex 4.B, eq. 4.B.1, whose
 * e = 611.2 exp(17.62 t / (243.12 + t)) is turned round in closed form; it is used both
 * ways here, so that its own 0.3 % cancel.  Tolerance: 0.05 °C of PsychroLib (ASHRAE's
 * formula).  Never below -100: air drier than that (0 % too) answers -100.  NAN when it
 * would be above 100 °C, which needs more than 100 %. */
double air_dew_point(double celsius, double humidity);

/* The same over ice: the inverse of air_ice_pressure, in closed form.
 * Tolerance: 0.01 °C of the IAPWS equation from -60 to 0 °C, 0.14 °C at -100.
 * Never below -100 as above, and never above 0, where ice melts.  Of nearly
 * saturated air below 0 °C it is above the air's own temperature: rime grows. */
double air_frost_point(double celsius, double humidity);

/* Which of the two applies: true when the dew point is below 0 °C, so that what
 * settles on a cold surface is rime, at the frost point; false when it is dew, at
 * the dew point.  The frost point is the higher of the two: by 0.6 °C at -5, by
 * 2.7 °C at -25 °C.  That water may stay liquid below 0 °C on a clean surface is left
 * aside (common practice, no source).  False when unknown. */
bool air_frosts(double celsius, double humidity);

/* Relative humidity, %, of air at a temperature that holds a vapour density: the
 * inverse of air_vapour_density, with its tolerance. */
double air_humidity_at(double celsius, double density);

/* Relative humidity, %, at another place of the same well-mixed air, which only
 * warms or cools on its way there: humidity e_s(celsius) / e_s(celsius_there), the
 * definition of relative humidity (WMO-No. 8, annex 4.A, from memory) with the
 * vapour pressure kept.  Not the vapour density: at one total pressure that is in
 * proportion to 1/T, and keeping it would answer T_there / T (K) times as much, 3.4 %
 * of itself too high at 30 °C from 20 °C.  Above 100 the place is colder than the dew
 * point and water settles there; its true humidity is 100, which is for the caller
 * to say.  Tolerance: 0.02 % of itself, that of the saturation pressures. */
double air_humidity_elsewhere(double celsius, double humidity, double celsius_there);

#endif
