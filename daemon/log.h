/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The daemon's own log: one line a message on standard error, which the
 * service manager keeps.  Bytes that are no printable text are shown as '?',
 * so that a probe or a file name cannot forge lines.
 */
#ifndef WARMSIDE_DAEMON_LOG_H
#define WARMSIDE_DAEMON_LOG_H

#include <stdbool.h>

/* From now on a line that would have to wait (whoever takes standard error
 * stands still) is left out, and how many were is said by the next that is
 * taken.  For the watch, which nothing may hold up. */
void log_never_wait(void);

/* Something worth reading later. */
void log_info(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* Something is wrong and the watch goes on. */
void log_warn(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* Something is wrong and the program ends for it. */
void log_error(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* A warning, with what errno says appended. */
void log_errno(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* A state that is worth one line when it begins and one when it ends, however
 * often it is seen.  Zero-initialised; belongs to whoever watches the state. */
struct log_state {
	bool on;
};

/* True when the state has just changed, that is when a line is due. */
bool log_changed(struct log_state *state, bool on);

#endif
