/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Greenspan's fixed points; see salt.h.
 */
#include "report/salt.h"

#include <math.h>
#include <strings.h>

enum { TERMS = 4, TABLE = 4, TABLE_STEP = 5 }; /* the table: 15, 20, 25, 30 °C */

const double salt_coldest = 15, salt_warmest = 30;

/* Coefficients as quoted in public repositories, each checked against the paper's table.
 * Two signs are often misprinted there (LiCl and K2CO3, A1); these give the table.
 * Uncertainties of MgCl2 and NaCl as quoted from the paper's table; the others from
 * memory. */
static const struct {
	const char *word, *title;
	double term[TERMS];
	double uncertainty[TABLE]; /* % */
} salts[SALTS] = {
	[LICL] = { "licl", "lithium chloride", { 11.2323, 0.00824245, -2.14890e-4, 0 },
		   { 0.35, 0.31, 0.27, 0.24 } },
	[CH3COOK] = { "ch3cook", "potassium acetate", { 22.4388, 0.156288, -6.12268e-3, 0 },
		      { 0.32, 0.25, 0.32, 0.53 } },
	[MGCL2] = { "mgcl2", "magnesium chloride", { 33.6686, -0.00797397, -1.08988e-3, 0 },
		    { 0.21, 0.18, 0.16, 0.14 } },
	[K2CO3] = { "k2co3", "potassium carbonate", { 43.1315, 0.00147523, 0, 0 },
		    { 0.33, 0.33, 0.39, 0.50 } },
	[MGNO3] = { "mgno3", "magnesium nitrate", { 60.3514, -0.298153, 0, 0 },
		    { 0.27, 0.23, 0.22, 0.24 } },
	[NACL] = { "nacl", "sodium chloride", { 75.5164, 0.0398321, -2.65459e-3, 2.848e-5 },
		   { 0.18, 0.14, 0.12, 0.11 } },
	[KCL] = { "kcl", "potassium chloride", { 88.6190, -0.193340, 8.99706e-4, 0 },
		  { 0.33, 0.29, 0.26, 0.25 } },
	[KNO3] = { "kno3", "potassium nitrate", { 96.3361, 0.0112371, -4.84514e-3, 0 },
		   { 0.96, 0.66, 0.55, 0.60 } },
	[K2SO4] = { "k2so4", "potassium sulphate", { 98.7792, -0.0590502, 0, 0 },
		    { 0.63, 0.53, 0.45, 0.40 } },
};

const char *salt_word(enum salt salt)
{
	return salts[salt].word;
}

const char *salt_title(enum salt salt)
{
	return salts[salt].title;
}

bool salt_from_word(const char *word, enum salt *salt)
{
	for (int i = 0; i < SALTS; i++)
		if (strcasecmp(word, salts[i].word) == 0) {
			*salt = (enum salt)i;
			return true;
		}
	return false;
}

double salt_humidity(enum salt salt, double celsius)
{
	const double *a = salts[salt].term;

	return a[0] + celsius * (a[1] + celsius * (a[2] + celsius * a[3]));
}

double salt_slope(enum salt salt, double celsius)
{
	const double *a = salts[salt].term;

	return a[1] + celsius * (2 * a[2] + celsius * 3 * a[3]);
}

double salt_uncertainty(enum salt salt, double celsius)
{
	const double *at = salts[salt].uncertainty;
	double steps = (celsius - salt_coldest) / TABLE_STEP;
	int before = (int)fmin(fmax(steps, 0), TABLE - 2);

	return at[before] + (steps - before) * (at[before + 1] - at[before]);
}

enum salt salt_nearest(double humidity, double celsius)
{
	enum salt best = LICL;

	for (int s = 0; s < SALTS; s++)
		if (fabs(salt_humidity((enum salt)s, celsius) - humidity) <
		    fabs(salt_humidity(best, celsius) - humidity))
			best = (enum salt)s;
	return best;
}
