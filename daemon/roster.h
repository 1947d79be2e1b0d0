/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Who is watched, and whose archives are nobody's: what the log says of names
 * that came and went with a configuration.
 */
#ifndef WARMSIDE_DAEMON_ROSTER_H
#define WARMSIDE_DAEMON_ROSTER_H

#include "conf/model.h"

/* After a reload: whose watch has ended, and whose has begun. */
void roster_say_changes(const struct conf *old, const struct conf *conf);

/* Before the first minutes of new enclosures are archived: an enclosure without
 * an archive beside an archive without an enclosure may be one that has got
 * another name.  Said with what keeps its history; nothing when all is as it
 * should be. */
void roster_say_strangers(const struct conf *conf);

#endif
