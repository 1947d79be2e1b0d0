/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The courier process: takes messages from the outbox folder, and from the
 * watcher's hand, to the webhooks, one at a time for each webhook, until each
 * has been answered with a 2xx.  A webhook that hangs delays no other, nor
 * does a message that a webhook answers otherwise.
 *
 * For each webhook the oldest goes first; but what came and went unsent waits
 * until everything else is out, and goes as one summary.
 */
#ifndef WARMSIDE_DAEMON_COURIER_H
#define WARMSIDE_DAEMON_COURIER_H

#include "conf/alertlog.h"
#include "conf/model.h"
#include "daemon/delivery.h"

enum courier_word {
	COURIER_TOOK,           /* a 2xx; of a summary, one for each it stands for, too */
	COURIER_REFUSED,        /* an answer that will stay the same: status */
	COURIER_NO_ANSWER,      /* the first failure of a row: status, or 0 for no answer */
	COURIER_ANSWERS         /* it takes messages again, after that.  A new courier knows
				 * of no row before it: COURIER_TOOK says as much. */
};

/* Told to the watcher through the result pipe; smaller than PIPE_BUF, so
 * that it arrives whole or not at all.  The message is the one just tried. */
struct courier_result {
	enum courier_word word;
	long status;            /* HTTP status, 0 when there was no answer */
	char message[ALERT_ID];
	char alert[ALERT_ID];
	char webhook[NAME_SIZE];
	char why[DELIVERY_WHY]; /* COURIER_REFUSED, COURIER_NO_ANSWER: a sentence */
};

/* Runs until wake_fd ends; returns the exit status of the process.  On wake_fd
 * come parcels (daemon/parcel.h). */
int courier_run(const struct conf *conf, const char *folder, int wake_fd, int result_fd);

#endif
