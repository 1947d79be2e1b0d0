/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sets of series; see batch.h.
 */
#include "daemon/batch.h"

_Static_assert(MAX_SERIES <= 32, "a set of series is 32 bits wide");

uint32_t series_bit(struct series series)
{
	return UINT32_C(1) << ((int)series.place * QUANTITIES + (int)series.quantity);
}

size_t series_in(uint32_t set, struct series out[MAX_SERIES])
{
	size_t count = 0;

	for (int place = 0; place < PLACES; place++)
		for (int quantity = 0; quantity < QUANTITIES; quantity++) {
			struct series one = { .place = (enum place)place,
						.quantity = (enum quantity)quantity };

			if (set & series_bit(one))
				out[count++] = one;
		}
	return count;
}
