/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Seasons that are likely to be slips: never in force, without effect, or of half an
 * enclosure.
 */
#ifndef WARMSIDE_CONF_REMARK_SEASON_H
#define WARMSIDE_CONF_REMARK_SEASON_H

#include "conf/fault.h"
#include "conf/model.h"

void remark_seasons(const struct conf *conf, const struct enclosure *enclosure,
		    struct faults *remarks);

#endif
