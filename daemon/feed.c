/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The archivist's keeper; see feed.h.
 */
#include "daemon/feed.h"

#include <errno.h>
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/archivist_link.h"
#include "daemon/backlog.h"
#include "daemon/backlog_file.h"
#include "daemon/feed_wait.h"
#include "daemon/files.h"
#include "daemon/log.h"

enum { FOLDER_MODE = 0750 };

static const double FIRST_PAUSE = 0.25; /* s a failed part is held; doubled each time */
static const double LONGEST_PAUSE = 30; /* s */
static const double SILENCE = 120;      /* s without an answer before somebody is told */

enum { MOST_GATHERED = FEED_CEILING / 4 }; /* bytes that are sent whatever write_every says */

struct feed {
	struct feed_callbacks callbacks;
	char *state;
	uint64_t rows[ROW_SIZES];
	struct backlog *backlog;
	unsigned long dropped; /* minutes dropped when it was last looked */
	bool failing;          /* somebody was told */
	bool proven;           /* a batch was archived whole */
	bool closing;

	struct archivist_link link;
	bool ready; /* the archivist has said hello */
	bool end_known;
	double end;   /* of the archives, s since the epoch */
	double recovered; /* end of what a sudden end had left; 0: nothing */
	double asked; /* when the archivist was started or sent a batch */

	unsigned char *out; /* the batch sent, head and all */
	size_t out_size, out_sent;
	bool waiting; /* it is not acknowledged */
	uint64_t number;
	bool failed;         /* a part of it could not be written */
	double pause;        /* s: how long the next failed part is held */
	struct feed_wait wait;
	struct backlog_file file;
};

static void set_rows(struct feed *feed, const struct conf *conf)
{
	for (int i = 0; i < ROW_SIZES; i++)
		feed->rows[i] = row_count(&conf->archive, row_sizes[i]);
	feed->wait.longest = conf->archive.write_every;
}

/* Now, and by no archivist later on: see archivist.c.  Where it cannot be made,
 * the first of those says so. */
static void make_folder(const struct feed *feed)
{
	char *folder = state_path(feed->state, ARCHIVE_FOLDER);

	folder_make(folder, FOLDER_MODE);
	free(folder);
}

struct feed *feed_new(const struct conf *conf, const struct feed_callbacks *callbacks)
{
	struct feed *feed = must_calloc(1, sizeof *feed);

	feed->callbacks = *callbacks;
	feed->state = must_copy(conf->state);
	feed_wait_begin(&feed->wait, 0);
	set_rows(feed, conf);
	make_folder(feed);
	feed->backlog = backlog_new(conf, FEED_CEILING);
	archivist_link_init(&feed->link);
	signal(SIGPIPE, SIG_IGN); /* a write to a dead archivist must not end the watch */
	feed->pause = FIRST_PAUSE;
	feed->out = must_calloc(1, BATCH_MOST);
	return feed;
}

void feed_free(struct feed *feed)
{
	if (!feed)
		return;
	archivist_link_end(&feed->link);
	backlog_file_close(&feed->file);
	backlog_free(feed->backlog);
	free(feed->out);
	free(feed->state);
	free(feed);
}

void feed_recover(struct feed *feed, const char *path)
{
	feed->recovered = backlog_file_recover(&feed->file, path, feed->backlog);
}

bool feed_gather(struct feed *feed, const char *path)
{
	feed->wait.on = true;
	return backlog_file_open(&feed->file, path, feed->backlog);
}

void feed_keep_none(struct feed *feed)
{
	backlog_file_close(&feed->file);
}

static void trouble(struct feed *feed, const char *why)
{
	if (feed->failing)
		return;
	feed->failing = true;
	log_warn("the archive is not written: %s", why);
	feed->callbacks.failing(feed->callbacks.context, why);
}

static void all_is_well(struct feed *feed)
{
	if (!feed->failing || backlog_holding(feed->backlog) ||
	    backlog_bytes(feed->backlog) > FEED_CEILING / 2)
		return;
	feed->failing = false;
	log_info("the archive is written again; %lu minutes were lost since the start",
		 feed_dropped(feed));
	feed->callbacks.working(feed->callbacks.context);
}

void feed_add(struct feed *feed, size_t enclosure, const struct closed_minute *minute)
{
	backlog_add(feed->backlog, enclosure, minute);
	backlog_file_add(&feed->file, feed->backlog, enclosure, minute);
	if (backlog_dropped(feed->backlog) != feed->dropped)
		trouble(feed, "too much waits for it, and the oldest minutes are dropped");
	feed->dropped = backlog_dropped(feed->backlog);
}

static void start_if_due(struct feed *feed, double now)
{
	char why[ARCHIVE_TEXT];

	if (now < feed->link.due)
		return;
	feed->asked = now;
	feed->ready = false;
	if (archivist_link_start(&feed->link, feed->state, now))
		return;
	snprintf(why, sizeof why, "cannot start the archivist: %s", strerror(errno));
	trouble(feed, why);
}

void feed_writable(struct feed *feed)
{
	while (feed_wants_write(feed)) {
		ssize_t put = write(feed->link.batches, feed->out + feed->out_sent,
				    feed->out_size - feed->out_sent);

		if (put < 0 && errno == EINTR)
			continue;
		if (put < 0)
			return; /* full, or it is dead and will be reaped */
		feed->out_sent += (size_t)put;
	}
}

/* What was held has waited already, and goes by itself: one file that cannot
 * be written must not make the others be written more often. */
static bool is_due(struct feed *feed, enum backlog_pick *pick, double now)
{
	size_t much = feed->wait.on ? MOST_GATHERED : BATCH_MOST;

	*pick = BACKLOG_HELD;
	if (backlog_ready(feed->backlog, now, BACKLOG_HELD))
		return true;
	*pick = BACKLOG_ALL;
	return feed_wait_over(&feed->wait, backlog_ready(feed->backlog, now, BACKLOG_ALL),
			      much, feed->closing, now);
}

static void send_if_due(struct feed *feed, double now)
{
	struct batch_head head = { .number = feed->number + 1,
				   .synced = feed->wait.on || feed->file.leftover };
	enum backlog_pick pick;

	if (!is_due(feed, &pick, now))
		return;
	memcpy(head.rows, feed->rows, sizeof head.rows);
	size_t size = backlog_fill(feed->backlog, now, pick, feed->out + sizeof head,
				   BATCH_MOST - sizeof head, &head.sections);

	head.size = (uint32_t)size;
	memcpy(feed->out, &head, sizeof head);
	feed->number++;
	feed->out_size = sizeof head + size;
	feed->out_sent = 0;
	feed->waiting = true;
	feed->failed = false;
	feed->asked = now;
	feed_writable(feed);
}

/* When feed_step has something to do that no descriptor announces. */
static double next_due(const struct feed *feed, double now)
{
	if (!feed->link.pid)
		return feed_closed(feed) ? INFINITY : feed->link.due;
	if (feed->waiting || !feed->ready)
		return feed->failing ? INFINITY : feed->asked + SILENCE;
	return fmin(feed->wait.until, backlog_held_until(feed->backlog, now));
}

bool feed_acknowledged(const struct feed *feed)
{
	return feed->proven && !feed->failing;
}

double feed_step(struct feed *feed, double now)
{
	backlog_file_write(&feed->file, feed->backlog);
	if (!feed->link.pid && !feed_closed(feed))
		start_if_due(feed, now);
	if (feed->link.pid && feed->ready && !feed->waiting)
		send_if_due(feed, now);
	else if (feed->link.pid && now >= feed->asked + SILENCE)
		trouble(feed, "the archivist does not answer");
	if (feed->closing && !backlog_bytes(feed->backlog))
		archivist_link_finish(&feed->link);
	return next_due(feed, now);
}

/* When that is so, no file needs to keep anything. */
static void all_archived(struct feed *feed)
{
	if (backlog_bytes(feed->backlog))
		return;
	feed_wait_done(&feed->wait);
	backlog_file_renew(&feed->file, feed->backlog);
}

static void hear_done(struct feed *feed)
{
	if (backlog_handed(feed->backlog, feed->link.crasher))
		feed->link.crashes = 0;
	backlog_settle(feed->backlog);
	all_archived(feed);
	feed->waiting = false;
	feed->link.useful = true;
	feed->link.deaths = 0;
	feed->proven |= !feed->failed;
	if (!backlog_holding(feed->backlog))
		feed->pause = FIRST_PAUSE;
	all_is_well(feed);
}

static void hear_failed(struct feed *feed, const struct report *report, double now)
{
	char why[ARCHIVE_TEXT + 2 * ENCLOSURE_NAME];

	snprintf(why, sizeof why, "%s.rrd: %s", report->name, report->text);
	trouble(feed, why);
	if (!feed->failed)
		feed->pause = fmin(2 * feed->pause, LONGEST_PAUSE);
	feed->failed = true;
	backlog_hold(feed->backlog, report->section, now + feed->pause);
}

static void hear_damaged(struct feed *feed, const struct report *report)
{
	char *folder = state_path(feed->state, ARCHIVE_FOLDER);
	char *path = must_print("%s/%s", folder, report->file);

	log_warn("the archive of %s was damaged (%s); it is kept as %s and a new one begins",
		 report->name, report->text, path);
	feed->callbacks.damaged(
		feed->callbacks.context,
		backlog_index(feed->backlog, report->name, (size_t)FEED_NO_ENCLOSURE), path);
	free(path);
	free(folder);
}

static void hear(struct feed *feed, const struct report *report, double now)
{
	bool ours = feed->waiting && report->number == feed->number;

	switch ((enum report_kind)report->kind) {
	case REPORT_HELLO:
		feed->ready = feed->end_known = true;
		feed->end = (double)report->end;
		break;
	case REPORT_FOLDER:
		trouble(feed, report->text);
		break;
	case REPORT_DAMAGED:
		hear_damaged(feed, report);
		break;
	case REPORT_FAILED:
		if (ours)
			hear_failed(feed, report, now);
		break;
	case REPORT_DONE:
		if (ours)
			hear_done(feed);
		break;
	}
}

void feed_readable(struct feed *feed, double now)
{
	struct report report;

	while (archivist_link_read(&feed->link, &report))
		hear(feed, &report, now);
}

void feed_child_died(struct feed *feed, int status, double now)
{
	char why[ARCHIVE_TEXT];

	feed_readable(feed, now); /* its last words */
	backlog_recall(feed->backlog);
	feed->waiting = false;
	archivist_link_died(&feed->link, status, now, why);
	if (feed_closed(feed))
		return;
	log_warn("%s", why);
	if (feed->link.deaths > DEATHS_AT_ONCE)
		trouble(feed, why);
}

int feed_ack_fd(const struct feed *feed)
{
	return feed->link.reports;
}

int feed_batch_fd(const struct feed *feed)
{
	return feed->link.batches;
}

bool feed_wants_write(const struct feed *feed)
{
	return feed->waiting && feed->link.batches >= 0 && feed->out_sent < feed->out_size;
}

pid_t feed_pid(const struct feed *feed)
{
	return feed->link.pid;
}

size_t feed_backlog(const struct feed *feed)
{
	return backlog_bytes(feed->backlog);
}

unsigned long feed_dropped(const struct feed *feed)
{
	return backlog_dropped(feed->backlog);
}

bool feed_archive_end(const struct feed *feed, double *end)
{
	if (feed->end_known)
		*end = fmax(feed->end, feed->recovered);
	return feed->end_known;
}

void feed_reload(struct feed *feed, const struct conf *conf)
{
	set_rows(feed, conf);
	backlog_reload(feed->backlog, conf);
}

void feed_close(struct feed *feed)
{
	feed->closing = true;
	backlog_file_write(&feed->file, feed->backlog);
}

bool feed_closed(const struct feed *feed)
{
	return feed->closing && !feed->link.pid && !backlog_bytes(feed->backlog);
}
