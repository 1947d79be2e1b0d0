/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What goes into standing.json of a flow: what stands and what strays untold,
 * what is shelved, what has been told of it; so that a restart neither repeats,
 * forgets nor delays an alert.
 */
#ifndef WARMSIDE_DAEMON_STANDING_H
#define WARMSIDE_DAEMON_STANDING_H

#include <jansson.h>

#include "daemon/flow.h"

/* Everything worth keeping of a flow; a new reference.  A quiet room gives a
 * short object that does not change with time. */
json_t *standing_json(struct flow *flow);

/* Puts what was kept into a flow that has just begun.  Silence goes on from
 * where it was; the time in between counts for nothing.  When it was kept later
 * than it is now, the clock has not been set yet: everything is then remembered
 * as long ago as it was.  Shelving that cannot be right is none.  False when the
 * object is none of ours: the flow is then as it was. */
bool standing_restore(struct flow *flow, json_t *whole);

#endif
