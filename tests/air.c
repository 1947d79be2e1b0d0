/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air's formulae against published tables.
 */
#include "tests/cm.h"

#include "conf/air.h"

static void assert_within(double value, double published, double relative)
{
	assert_near(value, published, relative * published);
}

/* reference: IAPWS-95, table 8 (275 K), and IAPWS-IF97, table 35 (300 K), as
 * quoted in the tests of several public steam-table programs; the triple point
 * 273.16 K is 611.657 Pa (IAPWS, from memory).  Tolerance 0.01 %. */
static void pressure_against_iapws(void **state)
{
	(void)state;
	assert_within(air_saturation_pressure(273.16 - 273.15), 611.657, 1e-4);
	assert_within(air_saturation_pressure(275 - 273.15), 698.451167, 1e-4);
	assert_within(air_saturation_pressure(300 - 273.15), 3536.58941, 1e-4);
}

/* reference: ASHRAE Handbook Fundamentals 2017, ch. 1, table 3, Pa (as quoted in
 * PsychroLib's tests).  Tolerance 0.03 %, PsychroLib's own for that table. */
static void pressure_against_ashrae(void **state)
{
	(void)state;
	assert_within(air_saturation_pressure(5), 872.6, 3e-4);
	assert_within(air_saturation_pressure(25), 3169.7, 3e-4);
	assert_within(air_saturation_pressure(50), 12351.3, 3e-4);
}

/* reference: FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), examples
 * 4 and 5, kPa, by another formula that is up to 0.11 % low. */
static void pressure_against_fao56(void **state)
{
	(void)state;
	assert_within(air_saturation_pressure(18), 2064, 2e-3);
	assert_within(air_saturation_pressure(19.5), 2267, 2e-3);
	assert_within(air_saturation_pressure(25), 3168, 2e-3);
}

/* reference: the physiologists' table of water in saturated air, mg/L from
 * 19 to 41 °C (medicalalgorithms.com, "measured and relative humidity"),
 * printed to 0.1: tolerance 0.08. */
static void density_against_table(void **state)
{
	static const double table[] = { 16.3, 17.3, 18.4, 19.4, 20.6, 21.8, 23.0, 24.4,
					25.8, 27.2, 28.8, 30.4, 32.0, 33.8, 35.6, 37.6,
					39.6, 41.7, 43.9, 46.2, 48.6, 51.1, 53.7 };

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++)
		assert_near(air_vapour_density(19 + (double)i, 100), table[i], 0.08);
}

/* reference: IAPWS-95, table 8: saturated vapour at 275 K is
 * 5.50664919 g/m³; the gas law is 0.06 % below.  Tolerance 0.1 %. */
static void density_against_iapws(void **state)
{
	(void)state;
	assert_within(air_vapour_density(275 - 273.15, 100), 5.50664919, 1e-3);
}

static void density_is_in_proportion_to_humidity(void **state)
{
	(void)state;
	assert_near(air_vapour_density(24, 0), 0, 0);
	assert_near(air_vapour_density(24, 50), air_vapour_density(24, 100) / 2, 1e-12);
}

/* All that a probe may say, -40..85 °C: a number, and more of it when warmer. */
static void it_rises_over_the_whole_range(void **state)
{
	(void)state;
	for (int t = -40; t < 85; t++) {
		assert_true(air_saturation_pressure(t) > 0);
		assert_true(air_saturation_pressure(t + 1) > air_saturation_pressure(t));
	}
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(pressure_against_iapws),
		cmocka_unit_test(pressure_against_ashrae),
		cmocka_unit_test(pressure_against_fao56),
		cmocka_unit_test(density_against_table),
		cmocka_unit_test(density_against_iapws),
		cmocka_unit_test(density_is_in_proportion_to_humidity),
		cmocka_unit_test(it_rises_over_the_whole_range),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
