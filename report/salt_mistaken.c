/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which salt a reading is over; see salt_mistaken.h.
 */
#include "report/salt_mistaken.h"

#include <math.h>
#include <stdbool.h>

#include "report/salt_line.h"

/* %: probes are sold with 3 and drift by 1 a year (common practice), and up to 5 a salt's name is
 * believed: its neighbours are 9 to 22 away, but for the two dampest, 3 apart. */
static const double BELIEVED = 5;
static const double CLEARLY = 1;        /* %: by which another salt is farther */
static const double DRIEST = 1, DAMPEST = 99; /* %: beyond them a probe stands at its end */
static const double MIDDLE = 50;        /* %: about what enclosures have */

static double error_of(const struct salt_reading *reading)
{
	return reading->read - salt_humidity(reading->salt, reading->celsius);
}

static enum salt mistaken_alone(const struct salt_reading *reading)
{
	enum salt nearest = salt_nearest(reading->read, reading->celsius);

	return fabs(error_of(reading)) > BELIEVED && nearest != reading->salt ? nearest : SALTS;
}

enum salt salt_mistaken(const struct salt_reading *list, size_t count, size_t which)
{
	const struct salt_reading *reading = &list[which];
	enum salt other = mistaken_alone(reading);

	if (other == SALTS || count < 2 || mistaken_alone(&list[1 - which]) != SALTS)
		return other;

	double left = reading->read - error_of(&list[1 - which]);

	return salt_nearest(left, reading->celsius) == reading->salt ? SALTS : other;
}

/* Whether a probe that far off is taken over this salt for what it is. */
static bool tells(enum salt salt, double celsius, double error)
{
	double read = salt_humidity(salt, celsius) + error, least = INFINITY;

	for (int s = 0; s < SALTS; s++)
		if (s != (int)salt)
			least = fmin(least, fabs(read - salt_humidity((enum salt)s, celsius)));
	return read >= DRIEST && read <= DAMPEST && least >= fabs(error) + CLEARLY;
}

enum salt salt_that_tells(const struct salt_reading *reading)
{
	double named = salt_humidity(reading->salt, reading->celsius), least = INFINITY;
	enum salt best = SALTS;

	for (int s = 0; s < SALTS; s++) {
		double humidity = salt_humidity((enum salt)s, reading->celsius);

		if (fabs(humidity - named) < salt_least_apart ||
		    !tells((enum salt)s, reading->celsius, error_of(reading)) ||
		    fabs(humidity - MIDDLE) > least)
			continue;
		least = fabs(humidity - MIDDLE);
		best = (enum salt)s;
	}
	return best;
}
