/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What happens to an event: a line in the alert log, then a message in the
 * outbox for every webhook; or, when rehearsing, a line on standard output.
 */
#ifndef WARMSIDE_DAEMON_TELL_H
#define WARMSIDE_DAEMON_TELL_H

#include "conf/alertlog.h"
#include "daemon/courier.h"
#include "daemon/log.h"
#include "daemon/message.h"
#include "daemon/unsaved.h"

struct teller {
	const struct conf *conf;
	int log;                /* alerts.jsonl, append only */
	char *outbox;           /* folder */
	bool post;              /* false: print what would be sent, and when */
	unsigned long told;     /* messages put into the outbox or printed */
	struct unsaved unsaved; /* what could not be written yet */
	struct log_state unsaved_state;
};

/* Opens the log and the outbox below the state folder.  False, with a line
 * logged, when that cannot be done. */
bool teller_open(struct teller *teller, const struct conf *conf, bool post);
void teller_close(struct teller *teller);

/* Logs the event and tells of it.  Fills record->message. */
void teller_tell(struct teller *teller, struct alert_record *record,
		 const struct message_context *context);

/* Tries again to write what the disk did not take, in order; called every
 * second.  True when there is something new in the outbox. */
bool teller_retry(struct teller *teller);

/* A webhook took a message. */
void teller_delivered(struct teller *teller, const struct courier_result *result, double now);

#endif
