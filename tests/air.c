/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The air's formulae against published tables.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/air.h"

static const double KELVIN = 273.15;

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

/* The saturation equation of Wagner and Pruss (2002, eq. 2.5; IAPWS SR1-86), Pa, T in K.
 * Coefficients as a public steam-table program quotes them. */
static double wagner_pruss(double t)
{
	double x = 1 - t / 647.096;

	return 22.064e6 * exp(647.096 / t *
			      (-7.85951783 * x + 1.84408259 * pow(x, 1.5) -
			       11.7866497 * pow(x, 3) + 22.6807411 * pow(x, 3.5) -
			       15.9618719 * pow(x, 4) + 1.80122502 * pow(x, 7.5)));
}

/* reference: that equation, itself 0.002 % below table 8 of IAPWS-95 at 275 K; 0 to
 * 100 °C.  Tolerance 0.003 %. */
static void pressure_against_the_iapws_equation(void **state)
{
	(void)state;
	assert_within(wagner_pruss(275), 698.451167, 3e-5);
	for (int tenth = 0; tenth <= 1000; tenth++)
		assert_within(air_saturation_pressure(tenth / 10.0),
			      wagner_pruss(tenth / 10.0 + KELVIN), 3e-5);
}

/* reference: the table of water's vapour pressure in the CRC Handbook, an older edition's,
 * as an encyclopedia prints it, kPa; 0.07 % below IAPWS at 50 °C.  Tolerance 0.1 %. */
static void pressure_against_crc(void **state)
{
	static const double table[] = { 0.6113, 0.8726, 1.2281, 1.7056, 2.3388, 3.1690,
					4.2455, 5.6267, 7.3814, 9.5898, 12.3440 };

	(void)state;
	for (size_t i = 0; i < sizeof table / sizeof *table; i++)
		assert_within(air_saturation_pressure(5.0 * (double)i) / 1000, table[i], 1e-3);
}

/* reference: ASHRAE Handbook Fundamentals 2017, ch. 1, table 3, Pa (as quoted in
 * PsychroLib's tests).  Tolerance 0.03 %, PsychroLib's own for that table. */
static void pressure_against_ashrae(void **state)
{
	(void)state;
	assert_within(air_saturation_pressure(5), 872.6, 3e-4);
	assert_within(air_saturation_pressure(25), 3169.7, 3e-4);
	assert_within(air_saturation_pressure(50), 12351.3, 3e-4);
	assert_within(air_saturation_pressure(100), 101418.0, 3e-4);
}

/* kg of vapour with a kg of dry air at 101325 Pa, by the gas law: 0.621945 e / (p - e),
 * ASHRAE Handbook Fundamentals 2017, ch. 1. */
static double humidity_ratio(double pressure)
{
	return 0.621945 * pressure / (101325 - pressure);
}

/* reference: ASHRAE Handbook Fundamentals 2017, ch. 1, table 2 (as quoted in PsychroLib's
 * tests): saturated real air holds 0.4 to 0.6 % more than the gas law says.  Tolerance
 * 0.6 %.  Example 1: 40 °C with a wet bulb of 20 °C is 14 % and 0.0065: half of the last
 * digit of the one is 3.6 %, of the other 0.8 %. */
static void humidity_ratio_against_ashrae(void **state)
{
	(void)state;
	assert_within(humidity_ratio(air_ice_pressure(-5)), 0.0024863, 6e-3);
	assert_within(humidity_ratio(air_saturation_pressure(5)), 0.005425, 6e-3);
	assert_within(humidity_ratio(air_saturation_pressure(25)), 0.020173, 6e-3);
	assert_within(humidity_ratio(air_saturation_pressure(50)), 0.086863, 6e-3);
	assert_within(humidity_ratio(0.14 * air_saturation_pressure(40)), 0.0065, 0.044);
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

/* reference: a sensor maker's note on humidity conversion formulas, its example of 20 °C
 * and 80 %: 13.82 g/m³ (from memory).  Tolerance 0.1 %. */
static void density_against_an_example(void **state)
{
	(void)state;
	assert_within(air_vapour_density(20, 80), 13.82, 1e-3);
}

static void density_is_in_proportion_to_humidity(void **state)
{
	(void)state;
	assert_near(air_vapour_density(24, 0), 0, 0);
	assert_near(air_vapour_density(24, 50), air_vapour_density(24, 100) / 2, 1e-12);
}

/* Half of the last printed digit; and 0.11 %, for FAO-56 has another formula. */
static void assert_printed(double kilopascal, double published, double digit)
{
	assert_near(kilopascal, published, digit / 2 + 1.1e-3 * published);
}

/* reference: FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), annex 2, table
 * 2.3, kPa, as its examples have the rows: 4 (19.5 °C), 5 (18 and 25 °C), 20 (14.8 °C,
 * printed to 0.01); from memory 3 (15, 19.75, to 0.01, and 24.5 °C) and the rows of 1, 20
 * and 30 °C.  Tolerance as above. */
static void rows_of_fao56(void **state)
{
	static const struct {
		double celsius, kilopascal, digit;
	} rows[] = { { 1, 0.657, 1e-3 },  { 14.8, 1.68, 1e-2 },  { 15, 1.705, 1e-3 },
		     { 18, 2.064, 1e-3 }, { 19.5, 2.267, 1e-3 }, { 19.75, 2.30, 1e-2 },
		     { 20, 2.338, 1e-3 }, { 24.5, 3.075, 1e-3 }, { 25, 3.168, 1e-3 },
		     { 30, 4.243, 1e-3 } };

	(void)state;
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		assert_printed(air_saturation_pressure(rows[i].celsius) / 1000, rows[i].kilopascal,
			       rows[i].digit);
}

/* reference: worked examples of FAO-56, kPa.  3: of a day of 15 to 24.5 °C it is 2.39.  4:
 * of 25.6 °C, a wet bulb of 19.5 °C and 87.9 kPa (0.000662 a kelvin: ventilated) it is
 * 1.91.  5: of 18 °C with 82 % it is 1.69; and of 68 % in the middle of 18 and 25 °C 1.78.
 * 17: at 30.2 °C it rises by 0.246 kPa a kelvin.  Tolerance as above. */
static void examples_of_fao56(void **state)
{
	double at_18 = air_saturation_pressure(18) / 1000, at_25 = air_saturation_pressure(25) / 1000;

	(void)state;
	assert_printed((air_saturation_pressure(15) + air_saturation_pressure(24.5)) / 2000, 2.39,
		       0.01);
	assert_printed(air_saturation_pressure(19.5) / 1000 - 0.000662 * 87.9 * (25.6 - 19.5), 1.91,
		       0.01);
	assert_printed(0.82 * at_18, 1.69, 0.01);
	assert_printed(0.68 * (at_18 + at_25) / 2, 1.78, 0.01);
	assert_printed((air_saturation_pressure(30.21) - air_saturation_pressure(30.19)) / 20,
		       0.246, 0.001);
}

/* reference: FAO-56, example 5: of 18 °C, 82 % and 25 °C, 54 % the vapour pressure is
 * 1.70 kPa, half the sum of both; example 6 (from memory): their deficit is 0.91 kPa.
 * Tolerance 0.005 kPa (half of the last digit) and 0.11 %. */
static void deficit_against_fao56(void **state)
{
	double taken = air_vapour_deficit(18, 82) + air_vapour_deficit(25, 54);
	double full = air_saturation_pressure(18) + air_saturation_pressure(25);

	(void)state;
	assert_printed((full - taken) / 2000, 1.70, 0.01);
	assert_printed(taken / 2000, 0.91, 0.01);
}

/* reference: ASHRAE Handbook Fundamentals 2017, ch. 1, table 3, -5 °C: 401.74 Pa over
 * ice (as quoted in PsychroLib's tests), tolerance 0.03 %; IAPWS R14-08(2011), the
 * check value of its sublimation equation, 8.94735 Pa at 230 K (from memory),
 * tolerance 0.1 %; 611.15 Pa at 0 °C, ASHRAE's formula by PsychroLib, 0.03 %. */
static void ice_against_tables(void **state)
{
	(void)state;
	assert_within(air_ice_pressure(-5), 401.74, 3e-4);
	assert_within(air_ice_pressure(230 - KELVIN), 8.94735, 1e-3);
	assert_within(air_ice_pressure(0), 611.15, 3e-4);
}

/* reference: a sensor maker's note on humidity conversion formulas (example 40 °C,
 * 50 %: 27.6 °C; from memory); 20 °C, 50 %: 9.3 °C, a common example.  Half of the last
 * digit: tolerance 0.05 °C.  ASHRAE Handbook Fundamentals 2017, ch. 1, example 1 (as
 * quoted in PsychroLib's tests): 40 °C, 14 % gives about 7 °C: tolerance 0.5 °C. */
static void dew_point_against_examples(void **state)
{
	(void)state;
	assert_near(air_dew_point(40, 50), 27.6, 0.05);
	assert_near(air_dew_point(20, 50), 9.3, 0.05);
	assert_near(air_dew_point(40, 14), 7, 0.5);
}

/* An inverse, over the whole range: tolerance 1e-6 °C, and for frost rounding. */
static void points_are_inverses(void **state)
{
	(void)state;
	for (int tenth = -999; tenth <= 1000; tenth++) {
		double t = tenth / 10.0;

		assert_near(air_dew_point(t, 100), t, 1e-6);
		if (t < 0)
			assert_near(air_frost_point(20, 100 * air_ice_pressure(t) /
								air_saturation_pressure(20)),
				    t, 1e-9);
	}
}

/* With a dew point below 0 °C frost applies, and comes first: at a higher point. */
static void frost_is_told_from_dew(void **state)
{
	(void)state;
	assert_true(air_frosts(20, 10) && air_frosts(-1, 100) && air_frosts(0, 99.9));
	assert_false(air_frosts(20, 40) || air_frosts(0, 100) || air_frosts(0.1, 100));
	for (int rh = 1; rh < 100; rh++) {
		double dew = air_dew_point(5, rh), frost = air_frost_point(5, rh);

		assert_int_equal(air_frosts(5, rh), dew < 0);
		assert_true(dew >= 0 ? frost == 0 : frost > dew - 1e-9 && frost <= 0);
	}
	/* -25 °C of frost is a dew point 2.7 °C lower. */
	assert_true(air_dew_point(20, 2.705) < -27 && air_frost_point(20, 2.705) > -25.1);
}

/* The inverse of the density, and what warming does.  reference: 20 °C, 60 % warmed
 * to 30 °C at the same pressure is 60 e_s(20) / e_s(30) = 33.05 % by IAPWS-95
 * (2339.194 and 4246.920 Pa); at the same density it is more, by 303.15 / 293.15.
 * Tolerance 0.01 %. */
static void humidity_at_another_temperature(void **state)
{
	double density = air_vapour_density(20, 60);

	(void)state;
	assert_near(air_humidity_at(20, density), 60, 1e-9);
	assert_within(air_humidity_at(30, density), 60 * 2339.194 / 4246.920 * 303.15 / 293.15,
		      1e-4);
	assert_near(air_humidity_at(air_dew_point(20, 60), density), 100, 3);
	assert_true(air_humidity_at(5, density) > 100);
	assert_near(air_humidity_at(30, 0), 0, 0);
	assert_within(air_humidity_elsewhere(20, 60, 30), 60 * 2339.194 / 4246.920, 1e-4);
	assert_within(air_humidity_elsewhere(30, 33.05, 20), 60, 1e-3);
	assert_near(air_humidity_elsewhere(24, 55, 24), 55, 1e-9);
	assert_near(air_humidity_elsewhere(20, 60, air_dew_point(20, 60)), 100, 0.2);
	assert_true(air_humidity_elsewhere(20, 60, 5) > 100);
	assert_near(air_humidity_elsewhere(20, 0, 30), 0, 0);
}

struct grid_row {
	double celsius, humidity, pressure, deficit, point, density;
	char phase[8];
};

static void against_row(const struct grid_row *row)
{
	bool ice = strcmp(row->phase, "ice") == 0;
	double t = row->celsius, rh = row->humidity;

	assert_within(air_saturation_pressure(t), row->pressure, 3e-4);
	assert_within(air_vapour_deficit(t, rh), row->deficit, 3e-4);
	assert_within(air_vapour_density(t, rh), row->density, 3e-4);
	assert_int_equal(air_frosts(t, rh), ice);
	assert_near(ice ? air_frost_point(t, rh) : air_dew_point(t, rh), row->point, ice ? 0.01 : 0.05);
}

/* reference: PsychroLib 1.1.1, ASHRAE's formulae (see reference/psychrolib.tsv).
 * Tolerance: 0.03 %, 0.01 °C over ice, 0.05 °C over water; Hyland and Wexler are 0.023 % below Sonntag. */
static void against_psychrolib(void **state)
{
	const char *source = getenv("top_srcdir");
	char path[4096], line[256];
	int rows = 0;
	FILE *file;

	(void)state;
	snprintf(path, sizeof path, "%s/tests/reference/psychrolib.tsv", source ? source : ".");
	file = fopen(path, "r");
	assert_non_null(file);
	while (fgets(line, sizeof line, file)) {
		struct grid_row row;

		if (*line == '#')
			continue;
		assert_int_equal(sscanf(line, "%lf %lf %lf %lf %lf %7s %lf", &row.celsius,
					&row.humidity, &row.pressure, &row.deficit, &row.point,
					row.phase, &row.density),
				 7);
		against_row(&row);
		rows++;
	}
	fclose(file);
	assert_int_equal(rows, 48);
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

/* In the range named in the header everything is a number but the dew point of
 * air that would boil; and rises with the humidity. */
static void numbers_in_range(void **state)
{
	(void)state;
	for (int t = -100; t <= 100; t++) {
		double dew = -100, frost = -100;

		for (int rh = 0; rh <= 100; rh++) {
			assert_true(air_dew_point(t, rh) >= dew &&
				    air_dew_point(t, rh) <= t + 1e-9);
			assert_true(air_frost_point(t, rh) >= frost && air_frost_point(t, rh) <= 0);
			dew = air_dew_point(t, rh);
			frost = air_frost_point(t, rh);
			assert_true(isfinite(air_vapour_density(t, rh)));
			assert_true(air_vapour_deficit(t, rh) >= 0);
		}
		assert_true(isfinite(air_humidity_at(t, 0)) && isfinite(air_humidity_at(t, 1000)));
		assert_true(isfinite(air_vapour_deficit(t, 1000)));
		assert_true(t > 0 || isfinite(air_ice_pressure(t)));
	}
	assert_near(air_dew_point(20, 0), -100, 0);
	assert_near(air_frost_point(20, 0), -100, 0);
	assert_near(air_dew_point(20, 1e-300), -100, 0);
	assert_true(isnan(air_dew_point(100, 101)));
}

static void unknown_out_of_range(void **state)
{
	static const double cold_or_hot[] = { -300, -273.15, -100.1, 100.1, 1e300, NAN, INFINITY };
	static const double amounts[] = { -0.1, 1000.1, 1e308, NAN, INFINITY };

	(void)state;
	for (size_t i = 0; i < sizeof cold_or_hot / sizeof *cold_or_hot; i++) {
		double t = cold_or_hot[i];

		assert_true(isnan(air_saturation_pressure(t)) && isnan(air_ice_pressure(t)));
		assert_true(isnan(air_vapour_density(t, 50)) && isnan(air_vapour_deficit(t, 50)));
		assert_true(isnan(air_dew_point(t, 50)) && isnan(air_frost_point(t, 50)));
		assert_true(isnan(air_humidity_at(t, 10)));
		assert_true(isnan(air_humidity_elsewhere(t, 50, 20)));
		assert_true(isnan(air_humidity_elsewhere(20, 50, t)));
		assert_false(air_frosts(t, 50));
	}
	for (size_t i = 0; i < sizeof amounts / sizeof *amounts; i++) {
		double rh = amounts[i];

		assert_true(isnan(air_vapour_density(20, rh)) && isnan(air_vapour_deficit(20, rh)));
		assert_true(isnan(air_dew_point(20, rh)) && isnan(air_frost_point(20, rh)));
		assert_true(isnan(air_humidity_at(20, rh)));
		assert_true(isnan(air_humidity_elsewhere(20, rh, 20)));
		assert_false(air_frosts(20, rh));
	}
	assert_true(isnan(air_ice_pressure(0.1)));
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(pressure_against_iapws),
		cmocka_unit_test(pressure_against_the_iapws_equation),
		cmocka_unit_test(pressure_against_crc),
		cmocka_unit_test(pressure_against_ashrae),
		cmocka_unit_test(humidity_ratio_against_ashrae),
		cmocka_unit_test(density_against_table),
		cmocka_unit_test(density_against_iapws),
		cmocka_unit_test(density_against_an_example),
		cmocka_unit_test(density_is_in_proportion_to_humidity),
		cmocka_unit_test(rows_of_fao56),
		cmocka_unit_test(examples_of_fao56),
		cmocka_unit_test(deficit_against_fao56),
		cmocka_unit_test(ice_against_tables),
		cmocka_unit_test(dew_point_against_examples),
		cmocka_unit_test(points_are_inverses),
		cmocka_unit_test(frost_is_told_from_dew),
		cmocka_unit_test(humidity_at_another_temperature),
		cmocka_unit_test(against_psychrolib),
		cmocka_unit_test(it_rises_over_the_whole_range),
		cmocka_unit_test(numbers_in_range),
		cmocka_unit_test(unknown_out_of_range),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
