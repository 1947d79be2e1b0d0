/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What usually causes what a message tells of, and what to look at first.  The
 * shipped texts are common practice, no source; a species may have its own.
 */
#ifndef WARMSIDE_CONF_ADVICE_H
#define WARMSIDE_CONF_ADVICE_H

#include "conf/model.h"

/* "too_cold" and the like, as the keys of an advice section. */
const char *advice_word(enum advice advice);

/* The species' own text, or the shipped one (species may be NULL): one or two
 * sentences, never NULL. */
const char *advice_text(const struct species *species, enum advice advice);

#endif
