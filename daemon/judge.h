/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What one series (a quantity at a place) is doing against its rule, from
 * reading to reading.  Pure: state and reading in, state out; the alerts
 * are decided from it elsewhere.
 *
 * An episode begins where the straight line between two readings crosses an
 * edge and ends when the value has been inside by the deadband for the
 * off-delay.  (Deadband and off-delay as ISA-18.2 / IEC 62682 mean them.)
 * Time outside is summed within the episode, so that noise around the edge
 * does not start the count again.  Unknown time is not counted.
 *
 * An episode is due when its patience is used up (band), two readings confirm
 * it (limits of temperature) or limits_patience is used up (of humidity), and
 * in any case only at a reading before which the value lay outside without a
 * break for the on-delay.  (ISA-18.2: it stops short spikes; the timer starts
 * again on a return.)  An episode of the band is due as well when the time
 * outside in any 24 hours reaches the daily allowance.
 */
#ifndef WARMSIDE_DAEMON_JUDGE_H
#define WARMSIDE_DAEMON_JUDGE_H

#include "conf/band.h"
#include "conf/daypart.h"
#include "conf/model.h"
#include "daemon/allowance.h"
#include "daemon/gate.h"
#include "daemon/trend.h"

enum side { INSIDE, BELOW, ABOVE };

/* On which side of a range a value lies; on an edge it is inside. */
enum side judge_side(struct range range, double value);

struct episode {
	enum side side;         /* INSIDE: there is none */
	double since;           /* where the line crossed the edge */
	double outside;         /* s outside so far */
	double worst;           /* the value farthest out so far */
	bool returning;         /* inside by the deadband ... */
	double back_since;      /* ... since then; kept when it is over */
	int readings;           /* readings in a row that lay outside */
	bool out;               /* the value lies outside now, without a break ... */
	double out_since;       /* ... since then: the on-delay's timer */
	bool due;               /* its patience is used up: to be told */
	bool by_allowance;      /* not its patience but the daily allowance was */
};

/* The value will pass a limit: the trend of the last 10 min leads beyond it
 * within 15 min, and has done so for a minute.  It ends when the episode of
 * that limit is due, which takes over, or when the trend has not led there for
 * the off-delay.  While no trend is known (a gap, a restart) it lasts. */
struct runaway {
	enum side side;         /* the limit it leads to; INSIDE: there is none */
	double since;           /* the first evaluation that said so */
	bool due;               /* confirmed by others: to be told */
	bool returning;         /* does not lead there ... */
	double back_since;      /* ... since then; kept when it is over */
};

struct judged {
	bool has_last;
	struct sample last;     /* the latest reading */
	struct episode band, limits;
	struct runaway runaway;
	struct allowance *allowance; /* what was used; NULL: nothing yet.  Owned */
	struct trend trend;     /* not kept over a restart */
};

/* Takes one reading, by the rule and its seasons.  Readings more than `longest` s apart are not joined: the
 * time between them is unknown and not counted.  Readings must come in order of time;
 * one that does not is ignored.
 *
 * A temperature with limits is also judged for runaway, but not across a
 * switch of the day or in the changeover after it.  `trend_gap`: readings more
 * than so many s apart break its trend; 0: it is never judged for runaway. */
void judge_reading(struct judged *judged, enum quantity quantity, const struct rule *rule,
		   const struct day *day, struct daypart_cache *cache, double longest,
		   double trend_gap, struct sample reading);

/* The clock moved by so many s: every time that is remembered moves too. */
void judged_shift(struct judged *judged, double by);

/* Frees what a judged owns and leaves it zeroed.  Whoever copies a judged
 * hands over what it owns: the one that is left is to be zeroed. */
void judged_free(struct judged *judged);

/* Where a value lies against the rule at an instant: the states that people
 * read.  UNJUDGED when the rule has neither band nor limits. */
enum standing { UNJUDGED, IN_BAND, STRAYING, UNSAFE };
enum standing judge_value(const struct rule *rule, const struct day *day,
			  struct daypart_cache *cache, struct sample sample);

#endif
