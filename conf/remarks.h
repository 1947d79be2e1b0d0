/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is no fault of a configuration but may well be a slip: told when it is
 * checked and when the watch begins.
 */
#ifndef WARMSIDE_CONF_REMARKS_H
#define WARMSIDE_CONF_REMARKS_H

#include "conf/fault.h"
#include "conf/model.h"

/* Adds a sentence for a probe that sits at two places or at none; for an enclosure
 * without a probe, with nothing to judge it by, out of service, or with values of its
 * own beyond its species' limits (remark_species.h); for a humidity wanted where none is
 * known; for no webhook at all, and for priorities no webhook is told of; for a test in salts
 * that is still to come `now`, s since the epoch.  The remarks have neither file nor line. */
void conf_remarks(const struct conf *conf, double now, struct faults *remarks);

#endif
