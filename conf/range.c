/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ranges against each other; see range.h.
 */
#include "conf/range.h"

double range_middle(struct range range)
{
	return (range.low + range.high) / 2;
}

bool range_within(struct range inner, struct range outer)
{
	return inner.low >= outer.low && inner.high <= outer.high;
}
