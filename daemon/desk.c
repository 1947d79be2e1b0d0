/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the archivist tells, and files that are set aside; see desk.h.
 */
#include "daemon/desk.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "conf/layout.h"
#include "daemon/archive.h"

void desk_tell(const struct desk *desk, const struct report *report)
{
	ssize_t put;

	do
		put = write(desk->a->reports, report, sizeof *report);
	while (put < 0 && errno == EINTR);
}

void desk_take_in_hand(const struct desk *desk, const char *name)
{
	snprintf(desk->a->in_hand->name, sizeof desk->a->in_hand->name, "%s", name);
}

bool desk_set_aside(struct desk *desk, const char *name, char why[ARCHIVE_TEXT])
{
	struct report report = { .kind = REPORT_DAMAGED };
	char *path = archive_path(desk->a->state, name);
	char problem[ARCHIVE_TEXT];

	if (!undo_put_back(&desk->undo, name, problem))
		undo_forget(&desk->undo, name);
	char *aside = archive_set_aside(path, time(NULL), problem);
	bool done = aside;

	if (done) {
		snprintf(report.name, sizeof report.name, "%s", name);
		snprintf(report.file, sizeof report.file, "%s", strrchr(aside, '/') + 1);
		snprintf(report.text, sizeof report.text, "%s", why);
		desk_tell(desk, &report);
	} else {
		snprintf(why, ARCHIVE_TEXT, "%s", problem);
	}
	free(path);
	free(aside);
	return done;
}
