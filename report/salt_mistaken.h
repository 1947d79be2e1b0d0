/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whether another salt than the one named was in the jar.  A reading alone cannot tell that from a
 * probe that is as far off, so none is corrected by it.  Pure.
 */
#ifndef WARMSIDE_REPORT_SALT_MISTAKEN_H
#define WARMSIDE_REPORT_SALT_MISTAKEN_H

#include <stddef.h>

#include "report/salt.h"

/* A jar that settled. */
struct salt_reading {
	enum salt salt;         /* the one named */
	double celsius;         /* from salt_coldest to salt_warmest */
	double read;            /* %: what the probe reads, corrected as it is configured */
};

/* The salt that list[which] is more likely over; SALTS when that is the one named.  Of two
 * readings, one that is plainly over its salt shows by how much the probe is off, and
 * the other is judged by what that leaves. */
enum salt salt_mistaken(const struct salt_reading *list, size_t count, size_t which);

/* The salt nearest to 50 % that makes a line with the one named, and over which a probe that far
 * off would not be mistaken; SALTS when there is none. */
enum salt salt_that_tells(const struct salt_reading *reading);

#endif
