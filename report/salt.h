/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Saturated salts: the humidity of the air over each, and how well it is known.  Pure.
 *
 * Source: L. Greenspan, "Humidity fixed points of binary saturated aqueous solutions",
 * Journal of Research of the National Bureau of Standards 81A (1977) 89-96: polynomials
 * RH = A0 + A1 t + A2 t² + A3 t³ (t in °C), and the uncertainty it estimates for each
 * value of its table 2.
 */
#ifndef WARMSIDE_REPORT_SALT_H
#define WARMSIDE_REPORT_SALT_H

#include <stdbool.h>

/* From dry to damp. */
enum salt { LICL, CH3COOK, MGCL2, K2CO3, MGNO3, NACL, KCL, KNO3, K2SO4, SALTS };

/* °C: where both the polynomials and their uncertainties are at hand. */
extern const double salt_coldest, salt_warmest;

/* "nacl": as the command line and JSON write it. */
const char *salt_word(enum salt salt);

/* "sodium chloride": for people. */
const char *salt_title(enum salt salt);

/* Letters large or small; false for another word. */
bool salt_from_word(const char *word, enum salt *salt);

/* For these, celsius lies from salt_coldest to salt_warmest.  In % relative humidity,
 * the second in % a °C; the third is the paper's estimate, between two temperatures of its
 * table by a straight line. */
double salt_humidity(enum salt salt, double celsius);
double salt_slope(enum salt salt, double celsius);
double salt_uncertainty(enum salt salt, double celsius);

/* The salt whose humidity is nearest to that, of the same temperatures. */
enum salt salt_nearest(double humidity, double celsius);

#endif
