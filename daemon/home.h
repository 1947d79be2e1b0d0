/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The state folder as a place: its parts, the lock that makes it ours, and
 * what becomes of a watch when somebody takes it away meanwhile: a folder
 * removed by mistake, a memory stick pulled out.
 */
#ifndef WARMSIDE_DAEMON_HOME_H
#define WARMSIDE_DAEMON_HOME_H

#include <stdbool.h>
#include <sys/types.h>

struct home {
	char *path;
	int lock;               /* held while the folder is ours; -1: it is not */
	dev_t disk;             /* on which it was found */
	bool away;              /* it was ours and is not there */
};

enum home_news {
	HOME_SAME,              /* as it was, here or away */
	HOME_MENDED,            /* parts of it were missing and have been made anew */
	HOME_GONE,              /* it is not there any more: nothing may be written */
	HOME_BACK,              /* another folder, or the one that was away, is ours now */
};

/* Makes the folder and its parts, and takes the lock.  False, with a line logged
 * that says what would help, when it cannot be used or another daemon has it. */
bool home_open(struct home *home, const char *path);
void home_close(struct home *home);

/* Looks whether it is still there and whole; a few stat(2), so every second.
 *
 * What was removed is made anew only on the disk it was on.  A mount that has
 * vanished leaves the empty folder beneath it: to go on there would hide what
 * is written as soon as the mount is back.  So on another disk only a folder
 * is moved into that has been a state folder before. */
enum home_news home_look(struct home *home);

#endif
