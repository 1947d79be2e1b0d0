/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What every cmocka program needs, in the order cmocka wants it.
 */
#ifndef WARMSIDE_TESTS_CM_H
#define WARMSIDE_TESTS_CM_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Equal within a tolerance; says both values when not. */
#define assert_near(a, b, tolerance)                                                   \
	do {                                                                           \
		double near_a = (a), near_b = (b);                                     \
		if (!(fabs(near_a - near_b) <= (tolerance)))                           \
			fail_msg("%s = %.12g, %s = %.12g", #a, near_a, #b, near_b);    \
	} while (0)

#endif
