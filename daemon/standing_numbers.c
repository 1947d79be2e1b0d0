/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Numbers that are possible; see standing_numbers.h.
 */
#include "daemon/standing_numbers.h"

#include <math.h>

static const double MOST = 1e12;

bool standing_numbers_possible(const json_t *json)
{
	const char *key;
	json_t *value;
	size_t index;

	if (json_is_number(json))
		return fabs(json_number_value(json)) < MOST;
	json_object_foreach((json_t *)json, key, value)
		if (!standing_numbers_possible(value))
			return false;
	json_array_foreach(json, index, value)
		if (!standing_numbers_possible(value))
			return false;
	return true;
}
