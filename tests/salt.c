/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Saturated salts against the published table.
 */
#include "tests/cm.h"

#include "report/salt.h"

static const double at[] = { 15, 20, 25, 30 };

struct row {
	enum salt salt;
	double humidity[4], uncertainty[4];
};

static void assert_row(const struct row *row)
{
	for (int i = 0; i < 4; i++) {
		double above = salt_humidity(row->salt, at[i]) - row->humidity[i];

		/* The table is cut off to 0.01, not rounded. */
		if (!(above > -1e-9 && above < 0.01 + 1e-9))
			fail_msg("%s at %g °C: %.4f, the table has %.2f", salt_word(row->salt), at[i],
				 salt_humidity(row->salt, at[i]), row->humidity[i]);
		assert_near(salt_uncertainty(row->salt, at[i]), row->uncertainty[i], 1e-9);
	}
}

/* Greenspan 1977 (J. Res. NBS 81A, 89-96), table 2, as transcribed in a public repository
 * whose author had the paper and checked a calibrator's manual against it. */
static void greenspan_as_transcribed(void **state)
{
	static const struct row rows[] = {
		{ MGCL2, { 33.30, 33.07, 32.78, 32.44 }, { 0.21, 0.18, 0.16, 0.14 } },
		{ NACL, { 75.61, 75.47, 75.29, 75.09 }, { 0.18, 0.14, 0.12, 0.11 } },
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_row(&rows[i]);
}

/* The same table from memory: the polynomials' coefficients come from elsewhere (public
 * repositories), so that each agrees with the other is a check of both. */
static void greenspan_from_memory(void **state)
{
	static const struct row rows[] = {
		{ LICL, { 11.30, 11.31, 11.30, 11.28 }, { 0.35, 0.31, 0.27, 0.24 } },
		{ K2CO3, { 43.15, 43.16, 43.16, 43.17 }, { 0.33, 0.33, 0.39, 0.50 } },
		{ MGNO3, { 55.87, 54.38, 52.89, 51.40 }, { 0.27, 0.23, 0.22, 0.24 } },
		{ KCL, { 85.92, 85.11, 84.34, 83.62 }, { 0.33, 0.29, 0.26, 0.25 } },
		{ K2SO4, { 97.89, 97.59, 97.30, 97.00 }, { 0.63, 0.53, 0.45, 0.40 } },
		{ KNO3, { 95.41, 94.62, 93.58, 92.31 }, { 0.96, 0.66, 0.55, 0.60 } },
		{ CH3COOK, { 23.40, 23.11, 22.51, 21.61 }, { 0.32, 0.25, 0.32, 0.53 } },
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_row(&rows[i]);
}

/* A museum's table of one decimal (padfield.org, Tim Padfield, "Saturated salt solutions";
 * seen), 20 and 25 °C; its 75.7 for NaCl at 20 °C is not Greenspan's and left out. */
static void a_museum_s_table(void **state)
{
	static const struct {
		enum salt salt;
		double celsius, humidity;
	} rows[] = {
		{ LICL, 20, 11.3 },  { MGCL2, 20, 33.1 }, { K2CO3, 20, 43.2 },
		{ KCL, 20, 85.1 },   { K2SO4, 20, 97.6 }, { LICL, 25, 11.3 },
		{ MGCL2, 25, 32.8 }, { K2CO3, 25, 43.2 }, { NACL, 25, 75.3 },
		{ KCL, 25, 84.3 },   { K2SO4, 25, 97.3 }, { CH3COOK, 15, 23.4 },
		{ CH3COOK, 20, 23.1 }, { CH3COOK, 25, 22.5 }, { CH3COOK, 30, 21.6 },
	};

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_near(salt_humidity(rows[i].salt, rows[i].celsius), rows[i].humidity, 0.051);
}

/* CRC Handbook, section 15 (A. Wexler): RH = A exp(B / T), good to 2 % of itself; seen. */
static void another_formula(void **state)
{
	static const struct {
		enum salt salt;
		double a, b;
	} rows[] = { { NACL, 69.20, 25 }, { KCL, 49.38, 159 }, { MGCL2, 29.26, 34 },
		     { MGNO3, 25.28, 220 }, { K2SO4, 86.75, 34 }, { KNO3, 43.22, 225 } };

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		double formula = rows[i].a * exp(rows[i].b / 298.15);

		assert_near(salt_humidity(rows[i].salt, 25), formula, 0.025 * formula);
	}
}

static void the_slope_is_the_value_s_own(void **state)
{
	(void)state;
	for (int salt = 0; salt < SALTS; salt++)
		for (double t = 15; t <= 30; t += 2.5)
			assert_near(salt_slope((enum salt)salt, t),
				    (salt_humidity((enum salt)salt, t + 0.01) -
				     salt_humidity((enum salt)salt, t - 0.01)) / 0.02, 1e-4);
}

static void uncertainty_between_two_temperatures(void **state)
{
	(void)state;
	assert_near(salt_uncertainty(NACL, 22.5), 0.13, 1e-9);
	assert_near(salt_uncertainty(MGCL2, 16), 0.204, 1e-9);
}

static void words(void **state)
{
	enum salt salt;

	(void)state;
	for (int i = 0; i < SALTS; i++) {
		assert_true(salt_from_word(salt_word((enum salt)i), &salt));
		assert_int_equal(salt, i);
		assert_true(i == 0 || salt_humidity((enum salt)i, 20) >
					      salt_humidity((enum salt)(i - 1), 20));
	}
	assert_true(salt_from_word("NaCl", &salt));
	assert_int_equal(salt, NACL);
	assert_false(salt_from_word("salt", &salt) || salt_from_word("", &salt));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(greenspan_as_transcribed),
		cmocka_unit_test(greenspan_from_memory),
		cmocka_unit_test(a_museum_s_table),
		cmocka_unit_test(another_formula),
		cmocka_unit_test(the_slope_is_the_value_s_own),
		cmocka_unit_test(uncertainty_between_two_temperatures),
		cmocka_unit_test(words),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
