/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Posting heartbeats; see beat.h.
 */
#include "daemon/beat.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "daemon/when.h"

void beat_send(struct beat *beat, struct delivery *delivery, const struct heartbeat *heartbeat,
	       const char *body)
{
	double now = when_wall();

	if (!heartbeat->endpoint || beat->busy)
		return;
	char *id = must_print("beat_%.0f", floor(now * 1000));
	const struct post post = {
		.endpoint = heartbeat->endpoint,
		.secret = heartbeat->secret,
		.id = id,
		.content_type = "application/json",
		.body = body,
		.timestamp = (long long)now,
	};

	beat->busy = delivery_post(delivery, &post, beat);
	free(id);
}

void beat_done(struct beat *beat, const struct delivered *done)
{
	bool failing = done->outcome != DELIVERED_IT;

	beat->busy = false;
	if (!log_changed(&beat->failing, failing))
		return;
	if (failing)
		log_warn("the heartbeat is not taken: %s", done->why);
	else
		log_info("the heartbeat is taken again");
}
