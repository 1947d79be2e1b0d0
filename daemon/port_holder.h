/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Which programs have a port, told by /proc and without opening the port.
 */
#ifndef WARMSIDE_DAEMON_PORT_HOLDER_H
#define WARMSIDE_DAEMON_PORT_HOLDER_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

enum { PORT_HOLDERS = 8, PORT_HOLDER_TEXT = 400 };

struct port_holder {
	pid_t pid;
	char name[32];          /* of its program, at most 15 bytes on Linux; "?" when not told */
};

/* Other programs that have the device (a path, links followed) open or locked. */
struct port_holders {
	struct port_holder list[PORT_HOLDERS];
	size_t count;
	bool hidden;            /* some programs could not be looked into: only root may */
};

struct port_holders port_holders(const char *device);

/* "warmsided (process 4711), sh (process 4712)"; buf is returned, "" for none. */
char *port_holders_text(const struct port_holders *holders, char buf[PORT_HOLDER_TEXT]);

/* True when this program itself has it open. */
bool port_is_ours(const char *device);

/* True when one of them is a watch of ours. */
bool port_held_by_watch(const struct port_holders *holders);

#endif
