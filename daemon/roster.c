/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Names that came and went; see roster.h.
 */
#include "daemon/roster.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/log.h"

#define ENDING ".rrd"

static bool is_among(const struct conf *conf, const char *name)
{
	for (size_t e = 0; e < conf->enclosure_count; e++)
		if (strcmp(conf->enclosures[e].name, name) == 0)
			return true;
	return false;
}

/* A file that was cut between two sections, by whoever was still writing it, is
 * as faultless as one from which an enclosure was taken out on purpose. */
void roster_say_changes(const struct conf *old, const struct conf *conf)
{
	for (size_t e = 0; e < old->enclosure_count; e++)
		if (!is_among(conf, old->enclosures[e].name))
			log_warn("\"%s\" is no longer watched: the configuration does not name it "
				 "any more", old->enclosures[e].name);
	for (size_t e = 0; e < conf->enclosure_count; e++)
		if (!is_among(old, conf->enclosures[e].name))
			log_info("\"%s\" is watched from now on", conf->enclosures[e].name);
}

/* Adds to a list that is read by people. */
static void add(char **list, const char *name)
{
	char *longer = *list ? must_print("%s, %s", *list, name) : must_copy(name);

	free(*list);
	*list = longer;
}

/* The enclosures that have no archive yet; malloc'ed, NULL for none. */
static char *newcomers(const struct conf *conf, size_t *count)
{
	char *list = NULL;

	*count = 0;
	for (size_t e = 0; e < conf->enclosure_count; e++) {
		char *path = archive_path(conf->state, conf->enclosures[e].name);

		if (access(path, F_OK) != 0) {
			add(&list, conf->enclosures[e].name);
			++*count;
		}
		free(path);
	}
	return list;
}

/* The archives of no enclosure, without their ending; malloc'ed, NULL for none. */
static char *strangers(const struct conf *conf, const char *folder, size_t *count)
{
	DIR *dir = opendir(folder);
	const struct dirent *entry;
	char *list = NULL;

	*count = 0;
	while (dir && (entry = readdir(dir))) {
		size_t length = strlen(entry->d_name);

		if (length <= strlen(ENDING) ||
		    strcmp(entry->d_name + length - strlen(ENDING), ENDING) != 0)
			continue;
		char *name = must_print("%.*s", (int)(length - strlen(ENDING)), entry->d_name);

		if (!is_among(conf, name)) {
			add(&list, name);
			++*count;
		}
		free(name);
	}
	if (dir)
		closedir(dir);
	return list;
}

void roster_say_strangers(const struct conf *conf)
{
	char *folder = state_path(conf->state, ARCHIVE_FOLDER);
	size_t new_count, strange_count;
	char *new = newcomers(conf, &new_count), *strange = NULL;

	if (new)
		strange = strangers(conf, folder, &strange_count);
	if (strange && new_count == 1 && strange_count == 1)
		log_warn("\"%s\" has no archive yet, and the archive %s/%s" ENDING " is no "
			 "enclosure's; if %s is called %s now, its history goes on when you end "
			 "warmsided, run \"mv '%s/%s" ENDING "' '%s/%s" ENDING "'\" and start it again",
			 new, folder, strange, strange, new, folder, strange, folder, new);
	else if (strange)
		log_warn("these have no archive yet: %s; and in %s these are no enclosure's: %s; if "
			 "one is called otherwise now, its history goes on when you end warmsided, "
			 "give its archive the new name with mv, and start it again",
			 new, folder, strange);
	free(new);
	free(strange);
	free(folder);
}
