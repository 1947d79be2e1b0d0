/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The watch itself, live or replayed: the flow with everything its results
 * go to, and the files below the state folder that keep it.  No loop here
 * and no ports: whoever drives it brings the time.
 */
#ifndef WARMSIDE_DAEMON_WATCH_H
#define WARMSIDE_DAEMON_WATCH_H

#include "daemon/bands.h"
#include "daemon/feed.h"
#include "daemon/flow.h"
#include "daemon/home.h"
#include "daemon/laws.h"
#include "daemon/log.h"
#include "daemon/nowfile.h"
#include "daemon/postbox.h"
#include "daemon/samples.h"
#include "daemon/tell.h"

struct watch {
	const struct conf *conf;
	struct home home;       /* the state folder */
	struct flow *flow;      /* NULL until watch_begin */
	struct teller teller;
	struct feed *feed;
	struct postbox *postbox; /* NULL when nothing is posted */
	char *kept;             /* what standing.json holds now; NULL when unknown */
	char *shown;            /* where now.json is written */
	char *gathered;         /* where minutes are gathered; NULL when they are not */
	struct samples samples; /* of a live watch */
	struct log_state keep_failing, show_failing;
	bool show_soon;         /* somebody may be waiting for what now.json will say */
	bool live;              /* a recording asks for no test alerts and takes no requests */
	double disk_since;      /* the disk takes nothing, flow time; 0 when it does */
	double lost_at;         /* the state folder or a part of it was taken away; 0: never */
	struct webhook_state *webhooks; /* as conf->webhooks */
	/* Called after each minute handed to the feed; NULL when live.  A replay
	 * waits here for the archivist. */
	void (*make_room)(struct watch *watch);
	struct laws laws;
	struct bands_course bands;
	double failing_since;   /* archive, flow time; 0 when it works */
	bool cautioned;         /* a live watch has begun in this state folder before */
};

/* Makes the state folder's parts, takes the lock, opens log and outbox, and
 * readies the archivist and, when posting, the courier.  False, with a line
 * logged, when the state folder cannot be used or another daemon holds it. */
bool watch_open(struct watch *watch, const struct conf *conf, bool post, bool live);

/* The watch begins at `now`: what stood before is known again. */
void watch_begin(struct watch *watch, double now);

/* One answer of a probe, into the flow and on to whoever must be told. */
void watch_reading(struct watch *watch, const struct reading *reading);

/* Passing time: the flow's own, what keepers ask, then the health of archive,
 * disk and webhooks. */
void watch_tick(struct watch *watch, double now);

/* The clock jumped by so many s (and is believed): the flow's times move, and
 * what is remembered here of archive, disk, webhooks and messages. */
void watch_shift(struct watch *watch, double by);

/* watch_home.c: what a sudden end has left of minutes goes to the feed; a live
 * watch gathers from here on. */
void watch_open_passing(struct watch *watch);

/* watch_home.c: every second of a live watch, whether the state folder and what
 * has to be in it are there; what is missing is made anew, and what belongs into
 * it written there again. */
void watch_mind_home(struct watch *watch);

/* Takes in what the courier says: what was delivered, who takes nothing. */
void watch_delivered(struct watch *watch);

/* Renews standing.json when it would change.  Events write it at once; called
 * now and then for the counts in between. */
void watch_keep(struct watch *watch);

/* Renews now.json. */
void watch_show(struct watch *watch, const struct now_extra *extra);

/* Goes on under a new configuration; the old one may be freed after. */
void watch_reload(struct watch *watch, const struct conf *conf, double mono);

/* The orderly end: closes the minutes and sends the rest to the archivist.  The
 * loop goes on until feed_closed; then watch_settle sends what is gathered and
 * keeps what stands, and watch_close ends it. */
void watch_finish(struct watch *watch);
void watch_settle(struct watch *watch);
void watch_close(struct watch *watch);

#endif
