/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Who has a port; see port_holder.h.
 */
#include "daemon/port_holder.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <unistd.h>

/* Majors of the near ends of pseudo-terminals (Linux, admin-guide/devices). */
enum { PTY_FIRST = 136, PTY_LAST = 143 };

static void read_name(pid_t pid, char name[32])
{
	char path[64];
	FILE *file;

	snprintf(path, sizeof path, "/proc/%ld/comm", (long)pid);
	file = fopen(path, "re");
	if (!file || !fgets(name, 32, file))
		snprintf(name, 32, "?");
	if (file)
		fclose(file);
	name[strcspn(name, "\n")] = '\0';
	/* It is going to a terminal. */
	for (char *c = name; *c; c++)
		if (!isprint((unsigned char)*c))
			*c = '?';
}

static void add(struct port_holders *holders, pid_t pid, bool locks)
{
	if (pid <= 0 || pid == getpid() || holders->count == PORT_HOLDERS)
		return;
	for (size_t i = 0; i < holders->count; i++)
		if (holders->list[i].pid == pid)
			return;
	holders->list[holders->count].pid = pid;
	holders->list[holders->count].locks = locks;
	read_name(pid, holders->list[holders->count].name);
	holders->count++;
}

/* Lines such as "1: FLOCK  ADVISORY  WRITE 4711 00:05:678 0 EOF" (proc(5)),
 * which everybody may read, of other users' programs too. */
static void look_at_locks(struct port_holders *holders, const struct stat *port)
{
	FILE *file = fopen("/proc/locks", "re");
	char line[200];

	while (file && fgets(line, sizeof line, file)) {
		unsigned major_number, minor_number;
		unsigned long inode;
		long pid;

		if (sscanf(line, "%*d: FLOCK %*s %*s %ld %x:%x:%lu", &pid, &major_number,
			   &minor_number, &inode) == 4 &&
		    makedev(major_number, minor_number) == port->st_dev && inode == port->st_ino)
			add(holders, (pid_t)pid, true);
	}
	if (file)
		fclose(file);
}

/* Is the descriptor this device?  Told from its name first: to look at what lies
 * on a share that does not answer would stand still, and no device lies there. */
static bool is_device(int folder, const char *descriptor, const struct stat *port)
{
	static const char devices[] = "/dev/";
	char target[sizeof devices];
	ssize_t length = readlinkat(folder, descriptor, target, sizeof target);
	struct stat st;

	return length >= (ssize_t)strlen(devices) &&
	       strncmp(target, devices, strlen(devices)) == 0 &&
	       fstatat(folder, descriptor, &st, 0) == 0 && S_ISCHR(st.st_mode) &&
	       st.st_rdev == port->st_rdev;
}

/* True when this process has the device open. */
static bool has_open(const char *pid, const struct stat *port, bool *hidden)
{
	char path[64];
	struct dirent *entry;
	bool found = false;
	DIR *folder;

	snprintf(path, sizeof path, "/proc/%.20s/fd", pid);
	folder = opendir(path);
	if (!folder) {
		*hidden = *hidden || errno == EACCES;
		return false;
	}
	while (!found && (entry = readdir(folder)))
		found = entry->d_name[0] != '.' && is_device(dirfd(folder), entry->d_name, port);
	closedir(folder);
	return found;
}

static bool look_at_device(struct port_holders *holders, const char *device, struct stat *port)
{
	*holders = (struct port_holders){ 0 };
	if (stat(device, port) < 0 || !S_ISCHR(port->st_mode))
		return false;
	holders->pseudo = major(port->st_rdev) >= PTY_FIRST && major(port->st_rdev) <= PTY_LAST;
	look_at_locks(holders, port);
	return true;
}

struct port_holders port_lockers(const char *device)
{
	struct port_holders holders;
	struct stat port;

	look_at_device(&holders, device, &port);
	return holders;
}

struct port_holders port_holders(const char *device)
{
	struct port_holders holders;
	struct dirent *entry;
	struct stat port;
	DIR *folder;

	if (!look_at_device(&holders, device, &port))
		return holders;
	folder = opendir("/proc");
	while (folder && (entry = readdir(folder)))
		if (isdigit((unsigned char)entry->d_name[0]) &&
		    has_open(entry->d_name, &port, &holders.hidden))
			add(&holders, (pid_t)strtol(entry->d_name, NULL, 10), false);
	if (folder)
		closedir(folder);
	return holders;
}

void port_holders_in_the_way(struct port_holders *holders)
{
	size_t count = 0;

	for (size_t i = 0; i < holders->count; i++)
		if (!holders->pseudo || holders->list[i].locks)
			holders->list[count++] = holders->list[i];
	holders->count = count;
}

bool port_is_ours(const char *device)
{
	bool hidden = false;
	struct stat port;

	return stat(device, &port) == 0 && S_ISCHR(port.st_mode) && has_open("self", &port, &hidden);
}

char *port_holders_text(const struct port_holders *holders, char buf[PORT_HOLDER_TEXT])
{
	size_t used = 0;

	buf[0] = '\0';
	for (size_t i = 0; i < holders->count; i++)
		used += (size_t)snprintf(buf + used, PORT_HOLDER_TEXT - used, "%s%s (process %ld)",
					 i ? ", " : "", holders->list[i].name,
					 (long)holders->list[i].pid);
	return buf;
}

bool port_held_by_watch(const struct port_holders *holders)
{
	for (size_t i = 0; i < holders->count; i++)
		if (strcmp(holders->list[i].name, "warmsided") == 0)
			return true;
	return false;
}
