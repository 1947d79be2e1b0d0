/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where a humidity is computed: the air of an enclosure is well mixed, so a
 * place that has only a thermometer has the vapour of another that has both.
 */
#ifndef WARMSIDE_CONF_COMPUTED_H
#define WARMSIDE_CONF_COMPUTED_H

#include "conf/model.h"

/* Whether the humidity at a place is computed, and then from the air of which
 * other: its probe gives the temperature alone, and at *source sits one that gives
 * both.  Of several sources the coolest: no lamp or mat warms a probe there
 * above its air (common practice, no source).  A humid hide and eggs have an air of
 * their own, and the room's is another: they neither give nor take. */
bool computed_source(const struct conf *conf, const struct enclosure *enclosure, enum place place,
		     enum place *source);

/* Whether it is wanted there too: then it is a series like any, archived and judged. */
bool computed_is_wanted(const struct conf *conf, const struct enclosure *enclosure,
			enum place place);

#endif
