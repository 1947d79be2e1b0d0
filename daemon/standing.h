/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * standing.json: what stands and what strays untold, so that a restart
 * neither repeats, forgets nor delays an alert.
 */
#ifndef WARMSIDE_DAEMON_STANDING_H
#define WARMSIDE_DAEMON_STANDING_H

#include "daemon/flow.h"

/* Everything worth keeping of a flow, as JSON text; malloc'ed.  A quiet room
 * gives a short text that does not change with time. */
char *standing_text(const struct flow *flow);

/* Puts what was kept into a flow that has just begun.  Silence goes on from
 * where it was; the time in between counts for nothing.  False when the text
 * is none of ours: the flow is then as it was. */
bool standing_restore(struct flow *flow, const char *text);

#endif
