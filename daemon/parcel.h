/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the watcher gives its courier through a pipe: a word, a message the
 * disk did not take, a heartbeat.  Each is a head and a text.  Neither end
 * ever waits, and one parcel at most is in the memory of either.
 */
#ifndef WARMSIDE_DAEMON_PARCEL_H
#define WARMSIDE_DAEMON_PARCEL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "daemon/outbox.h"

enum parcel_kind {
	PARCEL_WAKE,            /* the folder holds something new; no text */
	PARCEL_MESSAGE,         /* an outgoing_text */
	PARCEL_BEAT,            /* the body of a heartbeat */
	PARCEL_KINDS
};

/* Both ends are one program. */
struct parcel_head {
	uint32_t kind, length;  /* of the text behind it, at most MESSAGE_CEILING */
};

/* The giving end: a parcel that is on its way into the pipe. */
struct parcel_out {
	char *bytes;            /* NULL when all is given */
	size_t size, given;
};

/* Wraps a parcel up; false when the last is not given yet, or the text is too
 * long. */
bool parcel_wrap(struct parcel_out *out, enum parcel_kind kind, const char *text);

/* Gives the non-blocking pipe what it takes; false with errno EAGAIN when it
 * takes no more now, with another when it is broken. */
bool parcel_give(struct parcel_out *out, int fd);

/* Drops what is not given, for a pipe that is gone. */
void parcel_drop(struct parcel_out *out);

/* The taking end. */
struct parcel_in {
	struct parcel_head head;
	size_t got;             /* bytes of head and text so far */
	char *text;             /* of head.length bytes and a zero */
};

enum parcel_state { PARCEL_HERE, PARCEL_LATER, PARCEL_END };

/* Takes one parcel from the non-blocking pipe.  PARCEL_HERE: in->head.kind and
 * in->text are valid until the next call.  PARCEL_END: the pipe has ended, or
 * what came is no parcel. */
enum parcel_state parcel_take(struct parcel_in *in, int fd);
void parcel_clear(struct parcel_in *in);

#endif
