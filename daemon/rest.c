/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rests between tries; see rest.h.
 */
#include "daemon/rest.h"

#include <math.h>
#include <stdint.h>
#include <sys/random.h>

static const double FIRST = 2, LONGEST = 250 /* s */, SPREAD = 0.4;

double rest_after(unsigned tries, double chance)
{
	if (tries == 0)
		return 0;
	return fmin(ldexp(FIRST, (int)fmin(tries - 1, 16)), LONGEST) *
	       (1 + SPREAD * (chance - 0.5));
}

/* So that the couriers of a whole street do not come back in the same second. */
double rest_next(unsigned tries)
{
	uint32_t chance;

	if (getrandom(&chance, sizeof chance, GRND_NONBLOCK) != sizeof chance)
		chance = UINT32_MAX / 2;
	return rest_after(tries, chance / (double)UINT32_MAX);
}
