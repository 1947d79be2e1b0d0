/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What usually causes what a message tells of, and what to look at first.  The
 * shipped texts are common practice, no source; a species may have its own.
 */
#ifndef WARMSIDE_CONF_ADVICE_H
#define WARMSIDE_CONF_ADVICE_H

#include <stdbool.h>

#include "conf/model.h"

/* "too_cold" and the like, as the keys of an advice section. */
const char *advice_word(enum advice advice);

/* For whom there is advice. */
struct advised {
	const struct enclosure *enclosure; /* NULL: for none */
	bool hot_spot;          /* it is of the hot spot */
	int date;               /* the keeper's day, of daypart_at() */
};

/* The text of the last season in force that has one; else the shipped one for an animal
 * that rests in the cold, where it does, since a species' own is of ordinary times; else
 * the species' own; else the shipped one.  One or two sentences, never NULL.
 * advised: NULL for nobody. */
const char *advice_text(const struct advised *advised, enum advice advice);

#endif
