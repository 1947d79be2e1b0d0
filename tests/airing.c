/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Air changes: the published purge times, and decays made up with a known rate.
 */
#include "tests/cm.h"

#include <stdio.h>

#include "conf/air.h"
#include "report/airing.h"

/* Table S3-1, "Air changes per hour (ACH) and time in minutes required for removal
 * efficiencies of 90 %, 99 % and 99.9 % of airborne contaminants", in: Guidelines for
 * Preventing the Transmission of Mycobacterium tuberculosis in Health-Care Facilities,
 * MMWR 43 (RR-13), 28 October 1994.  Every cell as printed, in minutes. */
static const struct {
	double air_changes, minutes[3];
} purge[] = {
	{ 1, { 138, 276, 414 } }, { 2, { 69, 138, 207 } },  { 3, { 46, 92, 138 } },
	{ 4, { 35, 69, 104 } },	  { 5, { 28, 55, 83 } },    { 6, { 23, 46, 69 } },
	{ 8, { 17, 35, 52 } },	  { 10, { 14, 28, 41 } },   { 12, { 12, 23, 35 } },
	{ 15, { 9, 18, 28 } },	  { 20, { 7, 14, 21 } },    { 50, { 3, 6, 8 } },
};
static const double removed[3] = { 0.90, 0.99, 0.999 };

static void published_purge_times(void **state)
{
	(void)state;
	for (size_t i = 0; i < sizeof purge / sizeof *purge; i++)
		for (int k = 0; k < 3; k++) {
			double hours = airing_hours(purge[i].air_changes, removed[k]);

			assert_near(round(60 * hours), purge[i].minutes[k], 0);
			assert_near(airing_rate(1, 1 - removed[k], hours), purge[i].air_changes,
				    1e-9);
			/* Back from the printed minutes, as far as half a minute allows. */
			assert_near(airing_rate(1, 1 - removed[k], purge[i].minutes[k] / 60) *
					    purge[i].minutes[k],
				    purge[i].air_changes * purge[i].minutes[k],
				    purge[i].air_changes * 0.5);
		}
}

/* 2000 falls to 800 in an hour over a background of 400: ln 4. */
static void two_points(void **state)
{
	(void)state;
	assert_near(airing_rate(2000 - 400, 800 - 400, 1), log(4), 1e-12);
	assert_near(airing_rate(2000 - 400, 800 - 400, 2), log(4) / 2, 1e-12);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(published_purge_times),
		cmocka_unit_test(two_points),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
