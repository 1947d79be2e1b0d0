/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The flow and everything its results go to; see watch.h.
 */
#include "daemon/watch.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/bands.h"
#include "daemon/files.h"
#include "daemon/log.h"
#include "daemon/standing.h"
#include "daemon/when.h"

enum {
	STANDING_CEILING = 16 << 20, /* bytes */
	ARCHIVE_PATIENCE = 600,      /* s of failing before somebody is told */
};

static void keep(struct watch *watch, bool synced)
{
	char *text = standing_text(watch->flow);

	if (watch->kept && strcmp(text, watch->kept) == 0) {
		free(text);
		return;
	}
	char *path = state_path(watch->conf->state, STANDING_FILE);

	bool good = file_replace(path, text, strlen(text), synced);

	if (log_changed(&watch->keep_failing, !good) && !good)
		log_errno("%s cannot be written", path);
	free(path);
	free(watch->kept);
	watch->kept = good ? text : NULL; /* else it is tried again */
	if (!good)
		free(text);
}

/* ---- what the flow and the feed tell ------------------------------------- */

static void take_minute(void *context, size_t enclosure, const struct closed_minute *minute)
{
	struct watch *watch = context;

	feed_add(watch->feed, enclosure, minute);
	if (watch->make_room)
		watch->make_room(watch);
}

static void take_event(void *context, struct alert_record *record,
		       const struct message_context *message)
{
	struct watch *watch = context;

	teller_tell(&watch->teller, record, message);
	keep(watch, watch->teller.post);
	if (watch->postbox)
		postbox_wake(watch->postbox);
}

static void archive_damaged(void *context, size_t enclosure, const char *path)
{
	struct watch *watch = context;

	(void)path; /* the feed has logged it */
	if (watch->flow && enclosure != (size_t)FEED_NO_ENCLOSURE)
		flow_archive_damaged(watch->flow, enclosure);
}

static void archive_failing(void *context, const char *why)
{
	struct watch *watch = context;

	(void)why; /* the feed has logged it */
	if (watch->failing_since == 0)
		watch->failing_since = watch->flow ? watch->flow->now : 1;
}

static void archive_working(void *context)
{
	struct watch *watch = context;

	watch->failing_since = 0;
}

/* ---- opening -------------------------------------------------------------- */

static bool make_folders(const char *state)
{
	static const struct {
		const char *name;
		unsigned mode;
	} parts[] = {
		{ ARCHIVE_FOLDER, 0750 },
		{ OUTBOX_FOLDER, 0750 },
		{ REQUESTS_FOLDER, 0770 }, /* the report tool's users leave requests here */
	};
	bool good = folder_make(state, 0750);

	if (!good)
		log_errno("the state folder %s cannot be made", state);
	for (size_t i = 0; good && i < sizeof parts / sizeof *parts; i++) {
		char *path = state_path(state, parts[i].name);

		good = folder_make(path, parts[i].mode);
		if (!good)
			log_errno("%s cannot be made", path);
		free(path);
	}
	return good;
}

static int take_lock(const char *state)
{
	char *path = state_path(state, LOCK_FILE);
	int fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0640);

	if (fd < 0) {
		log_errno("%s cannot be opened", path);
	} else if (flock(fd, LOCK_EX | LOCK_NB) != 0) {
		if (errno == EWOULDBLOCK)
			log_error("a warmsided runs already on %s; stop it first", state);
		else
			log_errno("%s cannot be locked", path);
		close(fd);
		fd = -1;
	}
	free(path);
	return fd;
}

bool watch_is_held(const char *state)
{
	char *path = state_path(state, LOCK_FILE);
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	bool held = fd >= 0 && flock(fd, LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;

	if (fd >= 0)
		close(fd);
	free(path);
	return held;
}

bool watch_open(struct watch *watch, const struct conf *conf, bool post)
{
	*watch = (struct watch){ .conf = conf, .lock = -1, .teller = { .log = -1 } };
	if (!conf->state) {
		log_error("the configuration names no state folder; "
			 "state = \"/var/lib/warmside\" would");
		return false;
	}
	if (!make_folders(conf->state))
		return false;
	watch->lock = take_lock(conf->state);
	if (watch->lock < 0 || !teller_open(&watch->teller, conf, post))
		return false;
	const struct feed_callbacks callbacks = {
		.context = watch,
		.damaged = archive_damaged,
		.failing = archive_failing,
		.working = archive_working,
	};

	watch->feed = feed_new(conf, &callbacks);
	if (post)
		watch->postbox = postbox_new(conf, watch->teller.outbox);
	return true;
}

static void restore(struct watch *watch)
{
	char *path = state_path(watch->conf->state, STANDING_FILE);
	size_t size;
	char *text = file_read(path, STANDING_CEILING, &size);

	watch->first_start = !text && errno == ENOENT;
	if (!text && !watch->first_start)
		log_errno("%s cannot be read; what stood before is not known", path);
	if (text && !standing_restore(watch->flow, text))
		log_warn("%s is damaged; what stood before is not known", path);
	free(text);
	free(path);
}

void watch_begin(struct watch *watch, double now)
{
	const struct flow_sink sink = { watch, take_minute, take_event };

	watch->flow = flow_new(watch->conf, &sink, now);
	restore(watch);
	bands_note(watch->conf, now);
}

/* ---- going on ------------------------------------------------------------- */

void watch_tick(struct watch *watch, double now)
{
	struct flow *flow = watch->flow;

	flow_tick(flow, now);
	if (teller_retry(&watch->teller) && watch->postbox)
		postbox_wake(watch->postbox);
	if (watch->failing_since != 0 && flow->now - watch->failing_since >= ARCHIVE_PATIENCE)
		flow_trouble(flow, ARCHIVE, true, watch->failing_since);
	/* Over only when something was archived since: a restart does not know. */
	if (watch->failing_since == 0 && feed_acknowledged(watch->feed))
		flow_trouble(flow, ARCHIVE, false, 0);
}

void watch_delivered(struct watch *watch)
{
	struct courier_result result;

	while (watch->postbox && postbox_take(watch->postbox, &result))
		if (result.word == COURIER_TOOK)
			teller_delivered(&watch->teller, &result,
					 watch->flow ? watch->flow->now : when_wall());
}

void watch_keep(struct watch *watch)
{
	keep(watch, false);
}

void watch_show(struct watch *watch, const struct now_extra *extra)
{
	char *text = now_text(watch->flow, extra);
	char *path = state_path(watch->conf->state, NOW_FILE);

	bool good = file_replace(path, text, strlen(text), false);

	if (log_changed(&watch->show_failing, !good) && !good)
		log_errno("%s cannot be written", path);
	free(path);
	free(text);
}

void watch_reload(struct watch *watch, const struct conf *conf, double mono)
{
	flow_reload(watch->flow, conf);
	feed_reload(watch->feed, conf);
	watch->conf = watch->teller.conf = conf;
	if (watch->postbox)
		postbox_reload(watch->postbox, conf, mono);
	bands_note(conf, watch->flow->now);
	keep(watch, true);
}

void watch_finish(struct watch *watch)
{
	if (!watch->flow)
		return;
	flow_finish(watch->flow);
	feed_close(watch->feed);
	keep(watch, true);
}

void watch_close(struct watch *watch)
{
	if (watch->postbox)
		postbox_end(watch->postbox);
	watch_delivered(watch);
	postbox_free(watch->postbox);
	if (watch->feed)
		feed_free(watch->feed);
	flow_free(watch->flow);
	teller_close(&watch->teller);
	free(watch->kept);
	if (watch->lock >= 0)
		close(watch->lock);
}
