/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The list of ports; see ports.h.
 */
#include "daemon/ports.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <grp.h>
#include <pwd.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "conf/utf8.h"
#include "daemon/port.h"
#include "daemon/port_holder.h"

enum { LABEL = 10 };            /* characters of the left column */

static char *find_link(const char *folder_name, const char *device)
{
	DIR *folder = opendir(folder_name);
	struct dirent *entry;
	char *link = NULL;

	while (folder && !link && (entry = readdir(folder))) {
		char *path = must_print("%s/%s", folder_name, entry->d_name);
		char *target = realpath(path, NULL);

		if (target && strcmp(target, device) == 0)
			link = must_copy(path);
		free(target);
		free(path);
	}
	if (folder)
		closedir(folder);
	return link;
}

char *port_stable_link(const char *device)
{
	char *link = find_link("/dev/serial/by-id", device);

	return link ? link : find_link("/dev/serial/by-path", device);
}

/* ---- permission ---- */

static char *user_name(uid_t uid)
{
	const struct passwd *user = getpwuid(uid);

	return user ? must_copy(user->pw_name) : must_print("%ld", (long)uid);
}

static char *group_name(gid_t gid)
{
	const struct group *group = getgrgid(gid);

	return group ? must_copy(group->gr_name) : must_print("%ld", (long)gid);
}

static bool is_listed(gid_t gid, const char *user)
{
	const struct group *group = getgrgid(gid);

	for (size_t i = 0; group && group->gr_mem[i]; i++)
		if (strcmp(group->gr_mem[i], user) == 0)
			return true;
	return false;
}

char *port_forbidden(const char *device)
{
	struct stat st;
	char *user, *group, *text;

	if (stat(device, &st) < 0)
		return must_print("it cannot be looked at: %s", strerror(errno));
	if (faccessat(AT_FDCWD, device, R_OK | W_OK, AT_EACCESS) == 0)
		return NULL;
	user = user_name(geteuid());
	group = group_name(st.st_gid);
	if ((st.st_mode & (S_IRGRP | S_IWGRP)) != (S_IRGRP | S_IWGRP))
		text = must_print("%s may not open it, nor may any group: a udev rule has to give it "
				  "to one (MODE=\"0660\", GROUP=\"dialout\")", user);
	else if (is_listed(st.st_gid, user))
		text = must_print("%s is in its group %s, but logged in before that: log out and in "
				  "again", user, group);
	else
		text = must_print("%s may not open it: run `usermod -aG %s %s` as root, then log out "
				  "and in again", user, group, user);
	free(user);
	free(group);
	return text;
}

static void print_access(FILE *out, const char *device)
{
	char *forbidden = port_forbidden(device), *group;
	struct stat st;

	if (forbidden) {
		fprintf(out, "  %-*s%s\n", LABEL, "access", forbidden);
	} else if (stat(device, &st) == 0 && st.st_gid != 0) {
		group = group_name(st.st_gid);
		fprintf(out, "  %-*sgranted; the user of a service must be in the group %s\n", LABEL,
			"access", group);
		free(group);
	} else {
		fprintf(out, "  %-*sgranted; a service that is not root's needs a udev rule that gives "
			"it to a group\n", LABEL, "access");
	}
	free(forbidden);
}

/* ---- the rest ---- */

static void print_holders(FILE *out, const char *device)
{
	struct port_holders holders = port_holders(device);
	char text[PORT_HOLDER_TEXT];

	if (holders.count > 0)
		fprintf(out, "  %-*s%s\n", LABEL, "held by", port_holders_text(&holders, text));
	else
		fprintf(out, "  %-*s%s\n", LABEL, "held by",
			holders.hidden ? "nobody that can be seen; run as root to see all programs"
				       : "nobody");
}

static void print_names(FILE *out, const struct port_list *ports, const struct port_found *port)
{
	char *link = port_stable_link(port->name);
	char identity[PORT_IDENTITY], why[PORT_WHY];
	bool unique = port_identity(port, identity) && port_resolve(ports, identity, why) == port;

	if (port->is_usb && !unique && *identity)
		fprintf(out, "  %-*s%s is another port's too: name it by its path\n", LABEL, "USB",
			identity);
	else if (port->is_usb && !unique)
		fprintf(out, "  %-*sits serial number cannot be written: name it by its path\n", LABEL,
			"USB");
	if (unique)
		fprintf(out, "  %-*sport = \"%s\"\n", LABEL, "write", identity);
	if (link)
		fprintf(out, "  %-*sport = \"%s\"\n", LABEL, unique ? "or" : "write", link);
	if (!unique && !link)
		fprintf(out, "  %-*sport = \"%s\"\n", LABEL, "write", port->name);
	free(link);
}

/* An adapter may call itself anything. */
static void print_product(FILE *out, const char *product)
{
	char *text = must_copy(product);

	utf8_mend(text);
	fprintf(out, "  %-*s%s\n", LABEL, "is", text);
	free(text);
}

void ports_print(FILE *out, const struct port_list *ports)
{
	for (size_t i = 0; i < ports->count; i++) {
		const struct port_found *port = &ports->list[i];

		fprintf(out, "%s%s\n", i ? "\n" : "", port->name);
		print_product(out, port->product  ? port->product
				   : port->is_usb ? "a USB adapter that tells no name"
						  : "a port of this computer, not USB");
		print_names(out, ports, port);
		print_holders(out, port->name);
		print_access(out, port->name);
	}
}

int ports_run(void)
{
	struct port_list ports = port_list();

	ports_print(stdout, &ports);
	if (ports.count == 0)
		puts("No serial port is here.  Plug the adapter in, and look with `dmesg | tail` whether "
		     "this computer has noticed; another cable helps where it has not.  A virtual "
		     "machine or a container must be given the port.");
	port_list_free(&ports);
	return EXIT_SUCCESS;
}
