/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A watch and its state folder, which may go and come; see watch.h.
 */
#include "daemon/watch.h"

#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

#include "daemon/alertfile.h"
#include "daemon/files.h"
#include "daemon/passing.h"

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

static void leave(struct watch *watch)
{
	log_warn("%s is gone; the watch goes on, and what it would write there waits in memory",
		 watch->conf->state);
	close(watch->teller.log);
	watch->teller.log = -1;
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
		passing_link(watch->conf->state, GATHERED_FILE);
		passing_link(watch->conf->state, NOW_FILE);
		watch->bands = bands_begin(watch->conf, watch->flow->now);
	} else if (is_missing(watch, STANDING_FILE)) {
		forget_kept(watch);
	}
}
