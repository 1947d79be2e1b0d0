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
 */
#ifndef WARMSIDE_DAEMON_JUDGE_H
#define WARMSIDE_DAEMON_JUDGE_H

#include "conf/band.h"
#include "conf/daypart.h"
#include "conf/model.h"
#include "daemon/gate.h"

enum side { INSIDE, BELOW, ABOVE };

struct episode {
	enum side side;         /* INSIDE: there is none */
	double since;           /* where the line crossed the edge */
	double outside;         /* s outside so far */
	double worst;           /* the value farthest out so far */
	bool returning;         /* inside by the deadband ... */
	double back_since;      /* ... since then; kept when it is over */
	int readings;           /* readings in a row that lay outside */
	bool due;               /* its patience is used up: to be told */
};

struct judged {
	bool has_last;
	struct sample last;     /* the latest reading */
	struct episode band, limits;
};

/* Takes one reading.  Readings more than `longest` s apart are not joined: the
 * time between them is unknown and not counted.  Readings must come in order of time;
 * one that does not is ignored. */
void judge_reading(struct judged *judged, enum quantity quantity, const struct rule *rule,
		   const struct day *day, struct daypart_cache *cache, double longest,
		   struct sample reading);

/* Where a value lies against the rule at an instant: the states that people
 * read.  UNJUDGED when the rule has neither band nor limits. */
enum standing { UNJUDGED, IN_BAND, STRAYING, UNSAFE };
enum standing judge_value(const struct rule *rule, const struct day *day,
			  struct daypart_cache *cache, struct sample sample);

#endif
