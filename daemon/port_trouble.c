/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences about ports that cannot be opened; see port_trouble.h.
 */
#include "daemon/port_trouble.h"

#include <dirent.h>
#include <grp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/asking.h"
#include "conf/memory.h"
#include "conf/readfile.h"

enum { COMM_MOST = 64, LINK_MOST = 512 };

/* ---- who holds it ------------------------------------------------------------ */

/* proc(5): the links in /proc/PID/fd lead to what that process has open. */
static bool has_open(const char *pid, const char *device)
{
	char *folder = must_print("/proc/%s/fd", pid), target[LINK_MOST];
	DIR *links = opendir(folder);
	const struct dirent *entry;
	bool found = false;

	while (links && !found && (entry = readdir(links))) {
		char *link = must_print("%s/%s", folder, entry->d_name);
		ssize_t length = readlink(link, target, sizeof target - 1);

		if (length > 0) {
			target[length] = '\0';
			found = strcmp(target, device) == 0;
		}
		free(link);
	}
	if (links)
		closedir(links);
	free(folder);
	return found;
}

static char *describe_process(const char *pid)
{
	char *path = must_print("/proc/%s/comm", pid);
	size_t size;
	char *name = file_read(path, COMM_MOST, &size), *text;

	if (name)
		name[strcspn(name, "\n")] = '\0';
	text = must_print("%s (process %s)", name && *name ? name : "a program", pid);
	free(name);
	free(path);
	return text;
}

char *port_holder(const char *device)
{
	DIR *processes = opendir("/proc");
	const struct dirent *entry;
	char *own = must_print("%ld", (long)getpid()), *holder = NULL;

	while (processes && !holder && (entry = readdir(processes)))
		if (strspn(entry->d_name, "0123456789") == strlen(entry->d_name) &&
		    strcmp(entry->d_name, own) != 0 && has_open(entry->d_name, device))
			holder = describe_process(entry->d_name);
	if (processes)
		closedir(processes);
	if (!holder && has_open(own, device))
		holder = describe_process(own);
	free(own);
	return holder;
}

void port_say_held(char why[PORT_WHY], const char *name, const char *device)
{
	char *holder = port_holder(device), *own = must_print("(process %ld)", (long)getpid());

	if (holder && strstr(holder, own))
		snprintf(why, PORT_WHY, "%.100s: another bus of this configuration has it already; "
			 "each bus needs a port of its own", name);
	else if (holder)
		snprintf(why, PORT_WHY, "%.100s: %.80s holds it; end that, then it is free", name,
			 holder);
	else
		snprintf(why, PORT_WHY, "%.100s: another user's program holds it; \"sudo fuser -v "
			 "%.80s\" names it, and it must be ended first", name, device);
	free(own);
	free(holder);
}

/* ---- who may open it ---------------------------------------------------------- */

static bool is_member(const struct group *group, const char *login)
{
	for (char **member = group->gr_mem; *member; member++)
		if (strcmp(*member, login) == 0)
			return true;
	return false;
}

void port_say_forbidden(char why[PORT_WHY], const char *name, const char *device)
{
	const mode_t both = S_IRGRP | S_IWGRP;
	struct stat status;
	const struct group *group = NULL;
	char login[BY_SIZE];
	bool seen = stat(device, &status) == 0;

	asking_login(login);
	if (seen && (status.st_mode & both) == both)
		group = getgrgid(status.st_gid);
	if (group && is_member(group, login))
		snprintf(why, PORT_WHY, "%.100s: no permission to open it; %.40s is in its group "
			 "%.40s, but this session began before that: log in again, or restart the "
			 "service", name, login, group->gr_name);
	else if (group)
		snprintf(why, PORT_WHY, "%.100s: no permission to open it; let root run \"usermod "
			 "-aG %.40s %.40s\", then log in again, or restart the service", name,
			 group->gr_name, login);
	else if (seen)
		snprintf(why, PORT_WHY, "%.100s: no permission to open it, nor has any group one "
			 "(mode %03o); a serial port usually belongs to the group dialout with mode "
			 "660", name, (unsigned)status.st_mode & 0777);
	else
		snprintf(why, PORT_WHY, "%.100s: no permission to come to it; the folder it lies in "
			 "is closed to %.40s", name, login);
}

/* ---- what is there instead ------------------------------------------------------ */

void port_say_absent(char why[PORT_WHY], const char *name, const struct port_list *here)
{
	char list[PORT_WHY / 2];

	snprintf(why, PORT_WHY, "%.100s: there is no such port; is its adapter plugged in? %s",
		 name, port_list_say(here, list, sizeof list));
}
