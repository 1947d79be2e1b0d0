/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Requests to the running watch; see ask.h.
 */
#include "report/ask.h"

#include <errno.h>
#include <grp.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/lockfile.h"
#include "conf/utf8.h"

enum {
	LOOK_MS = 50,
	LOOKS = 100,            /* 5 s in all */
};

/* An option's text into a field; unsaid leaves it alone. */
static bool take_text(const char *option, const char *text, char *field, size_t size)
{
	if (!text)
		return true;
	if (strlen(text) >= size || !utf8_is_line(text, size)) {
		fprintf(stderr, "warmside: %s takes one line of text, at most %zu bytes\n", option,
			size - 1);
		return false;
	}
	memcpy(field, text, strlen(text) + 1);
	return true;
}

bool ask_author(const struct request *request, struct asking *asking)
{
	asking_login(asking->by);
	return take_text("--by", request->by, asking->by, sizeof asking->by) &&
	       take_text("--note", request->note, asking->note, sizeof asking->note);
}

/* Whose group may leave requests, and how to get into it. */
static void say_forbidden(const char *folder)
{
	struct stat status;
	const struct group *group = stat(folder, &status) == 0 ? getgrgid(status.st_gid) : NULL;
	char login[BY_SIZE];

	if (group)
		fprintf(stderr, "warmside: only the group %s may leave requests in %s; let root run "
			"\"usermod -aG %s %s\", then log in again\n", group->gr_name, folder,
			group->gr_name, asking_login(login));
	else
		fprintf(stderr, "warmside: only members of its group may leave requests in %s\n",
			folder);
}

static void say_not_left(const char *folder)
{
	if (errno == EACCES)
		say_forbidden(folder);
	else if (errno == ENOENT)
		fprintf(stderr, "warmside: %s does not exist; warmsided makes it at its first "
			"start\n", folder);
	else
		fprintf(stderr, "warmside: no request can be left in %s: %s\n", folder,
			strerror(errno));
}

enum ask_result ask(const struct request *request, const struct asking *asking,
		    struct logtail *tail,
		    bool (*settles)(void *context, const struct alert_record *record),
		    void *context)
{
	const char *state = request->conf->state;
	char *folder = state_path(state, REQUESTS_FOLDER);
	bool left = asking_leave(folder, asking);

	if (!left)
		say_not_left(folder);
	free(folder);
	if (!left)
		return ASK_FAILED;
	for (int look = 0; look < LOOKS; look++) {
		struct alert_record record;

		while (logtail_next(tail, &record))
			if (settles(context, &record))
				return ASK_DONE;
		if (!state_is_held(state))
			return ASK_WAITS;
		poll(NULL, 0, LOOK_MS);
	}
	return ASK_UNANSWERED;
}
