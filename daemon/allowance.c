/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seconds outside in 24 hours; see allowance.h.
 */
#include "daemon/allowance.h"

#include <math.h>

/* The bucket so many before the newest one. */
static unsigned before(const struct allowance *allowance, unsigned back)
{
	return (allowance->newest + ALLOWANCE_BUCKETS - back) % ALLOWANCE_BUCKETS;
}

/* When the bucket that holds the instant begins. */
static double bucket_of(const struct allowance *allowance, double time)
{
	double first = allowance ? allowance->begins : 0;

	return first + floor((time - first) / ALLOWANCE_BUCKET) * ALLOWANCE_BUCKET;
}

double allowance_until(const struct allowance *allowance, double time)
{
	double until = bucket_of(allowance, time) + ALLOWANCE_BUCKET;

	/* Rounded, the end of a bucket may seem to belong to it still. */
	return until > time ? until : until + ALLOWANCE_BUCKET;
}

/* The bucket that holds the instant becomes the newest. */
static void move_on(struct allowance *allowance, double time)
{
	double begins = bucket_of(allowance, time);
	double buckets = round((begins - allowance->begins) / ALLOWANCE_BUCKET);

	for (int i = 0; i < ALLOWANCE_BUCKETS && i < buckets; i++) {
		allowance->newest = (allowance->newest + 1) % ALLOWANCE_BUCKETS;
		allowance->seconds[allowance->newest] = 0;
	}
	if (buckets > 0)
		allowance->begins = begins;
}

void allowance_add(struct allowance *allowance, double time, double seconds)
{
	move_on(allowance, time);
	allowance->seconds[allowance->newest] += (float)seconds;
}

double allowance_used(struct allowance *allowance, double now)
{
	double used = 0;

	if (!allowance)
		return 0;
	move_on(allowance, now);
	for (unsigned i = 0; i < ALLOWANCE_BUCKETS; i++)
		used += (double)allowance->seconds[i];
	return used;
}

void allowance_clear(struct allowance *allowance)
{
	*allowance = (struct allowance){ .begins = allowance->begins };
}

void allowance_shift(struct allowance *allowance, double by)
{
	allowance->begins += by;
}

json_t *allowance_to_json(const struct allowance *allowance)
{
	json_t *list = NULL;

	for (unsigned back = allowance ? ALLOWANCE_BUCKETS : 0; back-- > 0;) {
		double seconds = (double)allowance->seconds[before(allowance, back)];

		if (seconds <= 0)
			continue;
		if (!list)
			list = json_array();
		json_array_append_new(list, json_pack("[f,f]",
						      allowance->begins - back * ALLOWANCE_BUCKET,
						      seconds));
	}
	return list;
}

bool allowance_from_json(const json_t *json, struct allowance *allowance)
{
	size_t count = json_array_size(json);

	*allowance = (struct allowance){ 0 };
	for (size_t i = 0; i < count; i++) {
		double begins, seconds;
		bool good = json_unpack(json_array_get(json, i), "[F,F]", &begins, &seconds) == 0 &&
			    seconds > 0 && seconds <= ALLOWANCE_BUCKET + 1 &&
			    begins > allowance->begins;

		if (!good) {
			*allowance = (struct allowance){ 0 };
			return false;
		}
		if (i == 0)
			allowance->begins = begins;
		/* The middle, lest a begin that was rounded falls before itself. */
		allowance_add(allowance, begins + ALLOWANCE_BUCKET / 2.0, seconds);
	}
	return count > 0;
}
