/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a keeper asks of the running watch: a file each in the requests
 * folder, left by `warmside ack`, `warmside shelve` and
 * `warmsided --test-alert`, taken by the watcher.
 */
#ifndef WARMSIDE_CONF_ASKING_H
#define WARMSIDE_CONF_ASKING_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/alertlog.h"

enum asked { ASKED_ACK, ASKED_SHELVE, ASKED_TEST, ASKED_KINDS };

enum { SHELVE_MOST = 24 * 3600 }; /* s: nobody forgets an enclosure for longer */

struct asking {
	enum asked what;
	double time;            /* when it was left, s since the epoch: it may have waited long */
	char enclosure[NAME_SIZE]; /* "" (ack): everything that stands */
	double seconds;         /* shelve: for how long, 0..SHELVE_MOST; 0 ends it */
	char by[BY_SIZE];       /* who, or "" */
	char note[NOTE_SIZE];   /* why, or "" */
};

/* Leaves a request in the folder: written whole and renamed in, readable and
 * removable by the folder's group; its time is now.  False with errno; EINVAL
 * when it could not be read back (texts with control characters, seconds out of
 * range). */
bool asking_leave(const char *folder, const struct asking *asking);

/* Takes the oldest request out of the folder.  False when there is none that
 * can be taken now; what is not named as a request is left alone, and links
 * are not followed.  *fault is NULL, or a malloc'ed sentence about a file that
 * is no request: it is taken away too, and *asking is then not valid. */
bool asking_take(const char *folder, struct asking *asking, char **fault);

/* The login name of whoever runs this program, for `by`; "user 1000" when it
 * has none.  Returns by. */
char *asking_login(char by[BY_SIZE]);

#endif
