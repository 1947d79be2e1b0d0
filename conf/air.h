/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Water vapour in air, from temperature and relative humidity.  Pure.
 */
#ifndef WARMSIDE_CONF_AIR_H
#define WARMSIDE_CONF_AIR_H

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

/* Vapour density ("absolute humidity"), g/m³, at a temperature in the range
 * above and a relative humidity in %, 0..100: the gas law
 * e / (R_v T) with R_v = 8314.41 / 18.01528 = 461.52 J/(kg K), ASHRAE Handbook
 * Fundamentals 2001, ch. 6, eq. 2.  Real saturated vapour is denser: by 0.06 % at
 * 275 K (IAPWS-95), by 0.4 % at 50 °C (steam tables, from memory). */
double air_vapour_density(double celsius, double humidity);

#endif
