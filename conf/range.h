/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Ranges against each other.  Pure.
 */
#ifndef WARMSIDE_CONF_RANGE_H
#define WARMSIDE_CONF_RANGE_H

#include <stdbool.h>

#include "conf/model.h"

double range_middle(struct range range);

/* Both edges of inner are in outer, or on its edges. */
bool range_within(struct range inner, struct range outer);

#endif
