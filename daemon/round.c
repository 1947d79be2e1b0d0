/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Turns, second tries and pauses; see round.h.
 */
#include "daemon/round.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

void round_init(struct round *round, size_t count, unsigned longest)
{
	*round = (struct round){
		.members = must_calloc(count, sizeof *round->members),
		.count = count, .longest = longest,
	};
}

void round_free(struct round *round)
{
	free(round->members);
	round->members = NULL;
	round->count = 0;
}

void round_begin(struct round *round)
{
	round->at = 0;
	for (size_t i = 0; i < round->count; i++) {
		struct round_member *m = &round->members[i];

		m->retry = false;
		m->due = m->pause == 0;
		if (m->pause)
			m->pause--;
	}
}

/* at runs over the members twice: once in turn, once for second tries. */
bool round_is_retry(const struct round *round)
{
	return round->at > round->count;
}

bool round_next(struct round *round, size_t *member)
{
	while (round->at < 2 * round->count) {
		struct round_member *m = &round->members[round->at % round->count];
		bool *wanted = round->at < round->count ? &m->due : &m->retry;

		*member = round->at++ % round->count;
		if (*wanted) {
			*wanted = false;
			return true;
		}
	}
	return false;
}

static void unheard(struct round *round, struct round_member *m)
{
	unsigned rounds = 2;

	for (unsigned i = 0; i < m->misses && rounds < round->longest; i++)
		rounds *= 2;
	if (rounds > round->longest)
		rounds = round->longest;
	m->misses++;
	m->pause = rounds - 1;
}

void round_result(struct round *round, size_t member, enum outcome outcome)
{
	struct round_member *m = &round->members[member];
	bool again = outcome != ANSWERED && !round_is_retry(round) && m->misses == 0;

	if (outcome != UNHEARD)
		m->misses = 0;
	if (again)
		m->retry = true;
	else if (outcome == UNHEARD)
		unheard(round, m);
}

void round_forget(struct round *round)
{
	memset(round->members, 0, round->count * sizeof *round->members);
}
