/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Impossible numbers; see standing_numbers.h.
 */
#include "daemon/standing_numbers.h"

#include <math.h>
#include <stdbool.h>

static const double MOST = 1e12;

static bool is_impossible(const json_t *json)
{
	return json_is_number(json) && !(fabs(json_number_value(json)) < MOST);
}

void standing_numbers_mend(json_t *json)
{
	const char *key;
	json_t *value;
	void *next;

	json_object_foreach_safe(json, next, key, value)
		if (is_impossible(value))
			json_object_del(json, key);
		else
			standing_numbers_mend(value);
	for (size_t i = json_array_size(json); i-- > 0;)
		if (is_impossible(json_array_get(json, i)))
			json_array_remove(json, i);
		else
			standing_numbers_mend(json_array_get(json, i));
}
