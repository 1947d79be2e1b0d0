/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A watch and its state folder, which may go and come; see watch.h.
 */
#include "daemon/watch.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/alertfile.h"
#include "daemon/files.h"
#include "daemon/passing.h"

/* ---- files that need not outlast a power cut ---- */

/* The link takes the place of what a sudden end may have left, so only when
 * that is written where it leads. */
static void gather(struct watch *watch)
{
	const char *state = watch->conf->state;
	char *here = state_path(state, GATHERED_FILE);
	bool good = feed_gather(watch->feed, watch->gathered);

	if (!good && strcmp(watch->gathered, here) != 0) {
		log_warn("minutes are gathered in %s, because %s cannot be written", here,
			 watch->gathered);
		free(watch->gathered);
		watch->gathered = must_copy(here);
		feed_gather(watch->feed, here);
	} else {
		passing_link(state, GATHERED_FILE);
	}
	free(here);
}

/* What was gathered is taken over before its place can become another. */
void watch_open_passing(struct watch *watch)
{
	const char *state = watch->conf->state;
	char *gathered = state_path(state, GATHERED_FILE);

	feed_recover(watch->feed, gathered);
	free(gathered);
	watch->shown = watch->live ? passing_path(state, NOW_FILE) : state_path(state, NOW_FILE);
	if (!watch->live)
		return;
	watch->gathered = passing_path(state, GATHERED_FILE);
	gather(watch);
	passing_link(state, NOW_FILE);
}

static bool is_missing(const struct watch *watch, const char *name)
{
	char *path = state_path(watch->conf->state, name);
	bool missing = access(path, F_OK) != 0 && errno == ENOENT;

	free(path);
	return missing;
}

/* What was kept is not there any more, and is to be written again. */
static void forget_kept(struct watch *watch)
{
	free(watch->kept);
	watch->kept = NULL;
}

/* The alert log, where it has to be: somebody may have moved or removed it. */
static void mind_log(struct watch *watch)
{
	char *path = state_path(watch->conf->state, ALERTS_FILE);

	if (!file_is_at(watch->teller.log, path))
		watch->teller.log = alertfile_again(watch->teller.log, path);
	free(path);
}

static bool is_within(const struct watch *watch, const char *path, const char *name)
{
	char *here = state_path(watch->conf->state, name);
	bool same = path && strcmp(path, here) == 0;

	free(here);
	return same;
}

/* What is written so often would lie beneath the mount that is missing. */
static void hold_passing(struct watch *watch)
{
	if (is_within(watch, watch->gathered, GATHERED_FILE))
		feed_keep_none(watch->feed);
	if (is_within(watch, watch->samples.path, SAMPLES_FILE))
		samples_hold(&watch->samples);
}

/* Files that were in the state folder begin anew there; links lead to the others. */
static void renew_passing(struct watch *watch)
{
	if (is_within(watch, watch->gathered, GATHERED_FILE))
		feed_gather(watch->feed, watch->gathered);
	else
		passing_link(watch->conf->state, GATHERED_FILE);
	if (is_within(watch, watch->samples.path, SAMPLES_FILE))
		samples_anew(&watch->samples);
	passing_link(watch->conf->state, NOW_FILE);
}

static void leave(struct watch *watch)
{
	log_warn("%s is gone; the watch goes on, and what it would write there waits in memory",
		 watch->conf->state);
	close(watch->teller.log);
	watch->teller.log = -1;
	hold_passing(watch);
	forget_kept(watch);
}

void watch_mind_home(struct watch *watch)
{
	enum home_news news = home_look(&watch->home);

	if (news != HOME_SAME)
		watch->lost_at = watch->flow->now;
	if (news == HOME_GONE)
		leave(watch);
	if (watch->home.away)
		return;
	mind_log(watch);
	if (news == HOME_BACK) {
		log_warn("%s was taken away; the watch goes on in what is there now",
			 watch->conf->state);
		forget_kept(watch);
		watch_keep(watch);
		renew_passing(watch);
		watch->bands = bands_begin(watch->conf, watch->flow->now);
	} else if (is_missing(watch, STANDING_FILE)) {
		forget_kept(watch);
	}
}
