/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sections -> the model.  One function for each kind of thing; each fills
 * its part of resolve->conf and adds what is wrong with it to the faults.
 * In the order of their calls: later ones look at what earlier ones made.
 */
#ifndef WARMSIDE_CONF_RESOLVE_H
#define WARMSIDE_CONF_RESOLVE_H

#include "conf/value.h"

/* Everything below, in order. */
void resolve_all(struct resolve *resolve);

void resolve_buses(struct resolve *resolve);            /* resolve_bus.c */
void resolve_probes(struct resolve *resolve);           /* resolve_probe.c */
void resolve_homes(struct resolve *resolve);            /* species, enclosures, the room */
/* The key misting_due of the top or of an enclosure; left alone when it is not given. */
void resolve_misting_due(struct resolve *resolve, struct section section, double *out);
void resolve_webhooks(struct resolve *resolve);         /* resolve_webhook.c */
void resolve_heartbeat(struct resolve *resolve);

#endif
