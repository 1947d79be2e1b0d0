/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the disk would not take: alert-log records and messages that wait in
 * memory until it does, in order.  Bounded; what is beyond is dropped, the
 * oldest first, and counted.
 */
#ifndef WARMSIDE_DAEMON_UNSAVED_H
#define WARMSIDE_DAEMON_UNSAVED_H

#include "daemon/outbox.h"

enum { UNSAVED_MOST = 1000 }; /* of each kind */

/* Zero-initialised. */
struct unsaved {
	struct alert_record *records;
	size_t record_count;
	struct outgoing *messages;
	size_t message_count;
	unsigned long dropped;
};

void unsaved_clear(struct unsaved *unsaved);

/* Keeps a copy of the record. */
void unsaved_record(struct unsaved *unsaved, const struct alert_record *record);

/* Takes the message over, its strings included. */
void unsaved_message(struct unsaved *unsaved, struct outgoing *message);

/* Tries again to append the records to the log and to put the messages into
 * the outbox folder.  True when a message got there. */
bool unsaved_retry(struct unsaved *unsaved, int log, const char *folder);

#endif
