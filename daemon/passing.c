/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Files in memory where there is a folder for them; see passing.h.
 */
#include "daemon/passing.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/log.h"

char *passing_path(const char *state, const char *name)
{
	const char *folders = getenv("RUNTIME_DIRECTORY"); /* with a colon between several */

	if (!folders || !*folders)
		return state_path(state, name);
	return must_print("%.*s/%s", (int)strcspn(folders, ":"), folders, name);
}

/* In one step: whoever reads meanwhile finds the old or the new. */
static bool point(const char *link, const char *to)
{
	char *beside = must_print("%s.new", link);
	bool good = (unlink(beside) == 0 || errno == ENOENT) && symlink(to, beside) == 0 &&
		    rename(beside, link) == 0;

	free(beside);
	return good;
}

void passing_link(const char *state, const char *name)
{
	char *link = state_path(state, name), *to = passing_path(state, name);
	struct stat about;
	bool good = true;

	if (strcmp(link, to) != 0)
		good = point(link, to);
	else if (lstat(link, &about) == 0 && S_ISLNK(about.st_mode))
		good = unlink(link) == 0;
	if (!good)
		log_errno("%s cannot lead to %s", link, to);
	free(link);
	free(to);
}
