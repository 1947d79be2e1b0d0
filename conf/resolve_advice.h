/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * advice sections of species and seasons.
 */
#ifndef WARMSIDE_CONF_RESOLVE_ADVICE_H
#define WARMSIDE_CONF_RESOLVE_ADVICE_H

#include "conf/value.h"

/* Reads the advice section of a section, where there is one; what it does not give
 * is left alone.  The texts belong to the script. */
void advice_read(struct resolve *resolve, struct section section, const char *out[ADVICES]);

/* The texts in the configuration's own keeping; NULL stays NULL. */
void advice_keep(const char *const texts[ADVICES], char *out[ADVICES]);

#endif
