/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The courier process: takes messages from the outbox folder to the
 * webhooks, oldest first, one at a time for each webhook, until each has
 * been answered with a 2xx.  A webhook that hangs delays no other, nor does a
 * message that a webhook answers otherwise.
 */
#ifndef WARMSIDE_DAEMON_COURIER_H
#define WARMSIDE_DAEMON_COURIER_H

#include "conf/alertlog.h"
#include "conf/model.h"

/* Told to the watcher through the result pipe; smaller than PIPE_BUF, so
 * that it arrives whole or not at all. */
enum courier_word { COURIER_TOOK, COURIER_REFUSED, COURIER_NO_ANSWER, COURIER_ANSWERS };
struct courier_result {
	enum courier_word word;
	char message[ALERT_ID];
	char alert[ALERT_ID];
	char webhook[NAME_SIZE];
};

/* Runs until wake_fd ends; returns the exit status of the process.  A byte on
 * wake_fd says that the folder holds something new. */
int courier_run(const struct conf *conf, const char *folder, int wake_fd, int result_fd);

/* How long a webhook that does not answer, or a message that was answered and
 * not taken, rests after so many failed tries: 2 s, doubled each time, at most
 * 5 min.  Dense at first: an animal may be waiting. */
double courier_rest(unsigned tries);

#endif
