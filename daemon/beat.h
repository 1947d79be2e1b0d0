/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The heartbeat's way: one at a time, posted once and never again.  It delays
 * no message, and a failing address is logged once.
 */
#ifndef WARMSIDE_DAEMON_BEAT_H
#define WARMSIDE_DAEMON_BEAT_H

#include "conf/model.h"
#include "daemon/delivery.h"
#include "daemon/log.h"

struct beat {
	bool busy;              /* one is on its way */
	struct log_state failing;
};

/* Posts that JSON body; dropped while another is on its way, or when no
 * address is configured.  The result comes with the token `beat`. */
void beat_send(struct beat *beat, struct delivery *delivery, const struct heartbeat *heartbeat,
	       const char *body);

/* Its result has come. */
void beat_done(struct beat *beat, const struct delivered *done);

#endif
