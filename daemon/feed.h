/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The watcher's end of the archive: starts the archivist, hands it closed
 * minutes in batches, and keeps what is not acknowledged.  Never waits: the
 * event loop watches two descriptors, reaps the child and calls feed_step
 * when due.  Times called `now` are monotonic, in s.
 */
#ifndef WARMSIDE_DAEMON_FEED_H
#define WARMSIDE_DAEMON_FEED_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include "conf/model.h"
#include "daemon/minutes.h"

enum {
	FEED_CEILING = 16777216,        /* bytes kept at most; then the oldest minutes go */
	FEED_NO_ENCLOSURE = -1,         /* as size_t: the configuration has it no more */
};

/* What the watcher is told.  None of these may call back into the feed. */
struct feed_callbacks {
	void *context;
	/* A damaged archive was set aside as path and a new one begins.
	 * enclosure: index into the present configuration's enclosures. */
	void (*damaged)(void *context, size_t enclosure, const char *path);
	/* Archiving does not work, and why: called once when it begins ... */
	void (*failing)(void *context, const char *why);
	/* ... and once when everything is archived again. */
	void (*working)(void *context);
};

struct feed;

/* conf->state must be set; nothing of conf is kept.  Starts nothing yet.
 * Makes the process ignore SIGPIPE. */
struct feed *feed_new(const struct conf *conf, const struct feed_callbacks *callbacks);

/* Takes over the minutes that a daemon which ended suddenly has left in the
 * file at path; none there is fine.  They are sent first. */
void feed_recover(struct feed *feed, const char *path);

/* From here on minutes are gathered for as long as the configuration's
 * write_every says before they are sent (shorter at first: who has just begun
 * is looked at), and kept in the file at path until they are archived; so a
 * sudden end loses none.  Batches are on the disk, synced, when they are
 * acknowledged.  Without this a minute is sent within a second.  Called again,
 * the file at path begins with what is not archived and the one before stays
 * as it is.  False when the file could not be written: that is tried again. */
bool feed_gather(struct feed *feed, const char *path);

/* The file is not touched any more, until feed_gather is called again. */
void feed_keep_none(struct feed *feed);

/* Lets go of everything.  An archivist still alive finishes what it has been
 * handed and ends by itself; backlog that was not handed over is lost, but
 * for the file it was gathered in. */
void feed_free(struct feed *feed);

/* Queues a closed minute of that enclosure, with the series it has in the
 * present configuration. */
void feed_add(struct feed *feed, size_t enclosure, const struct closed_minute *minute);

/* Starts or restarts the archivist and sends the next batch, when due.  To be
 * called after anything else here was; returns when to be called again at the
 * latest, +infinity for never. */
double feed_step(struct feed *feed, double now);

/* Reports come here: call feed_readable when it is.  -1 while there is none. */
int feed_ack_fd(const struct feed *feed);
void feed_readable(struct feed *feed, double now);

/* While feed_wants_write: call feed_writable when this one is. */
int feed_batch_fd(const struct feed *feed);
bool feed_wants_write(const struct feed *feed);
void feed_writable(struct feed *feed);

/* The archivist, or 0.  Whoever reaps it passes on what waitpid gave. */
pid_t feed_pid(const struct feed *feed);
void feed_child_died(struct feed *feed, int status, double now);

/* Bytes not acknowledged.  A replay stops reading while this is high. */
size_t feed_backlog(const struct feed *feed);

/* A batch has been archived whole since the start, and nothing fails now. */
bool feed_acknowledged(const struct feed *feed);

/* Minutes that were dropped because the backlog was full. */
unsigned long feed_dropped(const struct feed *feed);

/* The latest last update over all archives (s since the epoch; 0 when there
 * is none), as the archivist found it, or the end of what was recovered.
 * False until the archivist has said so. */
bool feed_archive_end(const struct feed *feed, double *end);

/* From here on enclosure indexes and row counts are those of conf.  Minutes
 * queued before keep their own series and their order: so what
 * minutes_finish hands out for an enclosure that changes is added before.
 * The archivist goes on, because batches say for themselves what is in them.
 * The state folder stays the one the feed was made with. */
void feed_reload(struct feed *feed, const struct conf *conf);

/* Nothing will be added any more: sends the rest at once (the file
 * has it when this returns), then ends the archivist.  The loop goes on until feed_closed, or as long as it likes. */
void feed_close(struct feed *feed);
bool feed_closed(const struct feed *feed);

#endif
