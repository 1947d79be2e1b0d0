/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Asking the running watch for something: leave the request, then look in the
 * alert log whether it was done.
 */
#ifndef WARMSIDE_REPORT_ASK_H
#define WARMSIDE_REPORT_ASK_H

#include "conf/asking.h"
#include "conf/logtail.h"
#include "report/request.h"

enum ask_result {
	ASK_DONE,               /* the log says so */
	ASK_WAITS,              /* left, and no daemon holds the state folder */
	ASK_UNANSWERED,         /* left, and a daemon runs, but the log says nothing */
	ASK_FAILED,             /* not left; a sentence is on standard error */
};

/* Fills in who and why, from --by and --note.  False after a sentence on
 * standard error. */
bool ask_author(const struct request *request, struct asking *asking);

/* Leaves the request, then hands what is added to the log (*tail, begun by the
 * caller before) to `settles` until that returns true: for a few seconds at
 * most, and not at all when no daemon runs. */
enum ask_result ask(const struct request *request, const struct asking *asking,
		    struct logtail *tail,
		    bool (*settles)(void *context, const struct alert_record *record),
		    void *context);

#endif
