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
	bool locks;             /* has it locked, as a program does that means it for itself */
	char name[32];          /* of its program, at most 15 bytes on Linux; "?" when not told */
};

/* Other programs that have the device (a path, links followed) open or locked. */
struct port_holders {
	struct port_holder list[PORT_HOLDERS];
	size_t count;
	bool pseudo;            /* the device is a pseudo-terminal: who serves it may have it open too */
	bool hidden;            /* some programs could not be looked into: only root may */
};

struct port_holders port_holders(const char *device);

/* Only those that have it locked: without a walk over all programs. */
struct port_holders port_lockers(const char *device);

/* True when this program itself has it open. */
bool port_is_ours(const char *device);

/* "warmsided (process 4711), sh (process 4712)"; buf is returned, "" for none. */
char *port_holders_text(const struct port_holders *holders, char buf[PORT_HOLDER_TEXT]);

/* Leaves those that are in the way of somebody else: of a pseudo-terminal only
 * who has it locked. */
void port_holders_in_the_way(struct port_holders *holders);

/* True when one of them is a watch of ours. */
bool port_held_by_watch(const struct port_holders *holders);

#endif
