/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Whose turn it is on one bus: every member once a round, in order; one more
 * try at the end of the round for those that failed; and ever longer pauses
 * for those that are silent.  Counts rounds, knows no time, does no I/O.
 */
#ifndef WARMSIDE_DAEMON_ROUND_H
#define WARMSIDE_DAEMON_ROUND_H

#include <stdbool.h>
#include <stddef.h>

enum outcome {
	ANSWERED,
	DISTURBED,              /* something came, but no value: garbled, refused */
	UNHEARD,                /* nothing came from it: this alone leads to a pause */
};

struct round_member {
	unsigned misses;        /* rounds in a row in which it was unheard */
	unsigned pause;         /* rounds it still sits out */
	bool due, retry;        /* still to be asked: in turn, at the end */
};

struct round {
	struct round_member *members;
	size_t count, at;
	unsigned longest;       /* most rounds from one asking of a silent member to the next */
};

/* A round of count members that nobody has asked yet; longest >= 1. */
void round_init(struct round *round, size_t count, unsigned longest);
void round_free(struct round *round);

/* Begins a round: all are due but those that sit it out. */
void round_begin(struct round *round);

/* The member to ask next; false when the round is over. */
bool round_next(struct round *round, size_t *member);

/* True when this asking is the second one in the round. */
bool round_is_retry(const struct round *round);

/* What came of the asking that round_next led to.  A first failure is tried
 * once more at the end of the round, unless the member was silent before.
 * One that stays unheard sits out 1, 3, 7, ... rounds, never more than
 * longest - 1, and none again once something comes from it. */
void round_result(struct round *round, size_t member, enum outcome outcome);

/* Forgets who was silent: the port is a new one. */
void round_forget(struct round *round);

#endif
