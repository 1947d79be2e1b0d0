/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How the watch itself does: archive, disk, webhooks, whether a test was
 * made lately, and which probes should be tested in salts again; from there into alerts for whoever can mend it.
 */
#ifndef WARMSIDE_DAEMON_HEALTH_H
#define WARMSIDE_DAEMON_HEALTH_H

#include "daemon/watch.h"

/* Every second: raises and clears the tool's own alerts. */
void health_tick(struct watch *watch);

/* One word of the courier's. */
void health_take_result(struct watch *watch, const struct courier_result *result);

/* The clock was put right by so many s: whoever failed for a minute still did. */
void health_shift(struct watch *watch, double by);

/* What is known of the webhooks goes on by name under a new configuration;
 * called before watch->conf changes. */
void health_reload(struct watch *watch, const struct conf *conf);

#endif
