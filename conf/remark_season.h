/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seasons that are likely to be slips: never in force, over, without effect, or of half
 * an enclosure.
 */
#ifndef WARMSIDE_CONF_REMARK_SEASON_H
#define WARMSIDE_CONF_REMARK_SEASON_H

#include "conf/fault.h"
#include "conf/model.h"

/* now: s since the epoch. */
void remark_seasons(const struct conf *conf, const struct enclosure *enclosure, double now,
		    struct faults *remarks);

#endif
