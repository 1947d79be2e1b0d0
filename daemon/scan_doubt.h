/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Probes that may be understood in more than one way, once all are found.  Pure.
 */
#ifndef WARMSIDE_DAEMON_SCAN_DOUBT_H
#define WARMSIDE_DAEMON_SCAN_DOUBT_H

#include "daemon/scan.h"

/* Probes on one line are mostly of one kind: where the layout that most of the
 * sure ones have (two at least, and more than any other) is among a probe's fits
 * and no less likely than its best, that is taken and the others are dropped. */
void scan_settle_doubt(struct scan *scan);

#endif
