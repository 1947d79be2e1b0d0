/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Sentences about ports that cannot be opened; see port_trouble.h.
 */
#include "daemon/port_trouble.h"

#include <stdio.h>
#include <stdlib.h>

#include "daemon/port_holder.h"
#include "daemon/ports.h"

void port_say_held(char why[PORT_WHY], const char *name, const char *device)
{
	/* A watch asks this every 2 s: whoever locks it is known without a walk. */
	struct port_holders holders = port_lockers(device);
	char text[PORT_HOLDER_TEXT];

	bool ours = holders.count == 0 && port_is_ours(device);

	if (holders.count == 0 && !ours)
		holders = port_holders(device);
	port_holders_in_the_way(&holders);
	if (holders.count > 0)
		snprintf(why, PORT_WHY, "%.100s: held by %.100s; it is free when that has ended", name,
			 port_holders_text(&holders, text));
	else if (ours)
		snprintf(why, PORT_WHY, "%.100s: another bus of this configuration has it already; "
			 "each bus needs a port of its own", name);
	else
		snprintf(why, PORT_WHY, "%.100s: held by another user's program; `fuser -v %.80s` as "
			 "root names it, and it is free when that has ended", name, device);
}

void port_say_forbidden(char why[PORT_WHY], const char *name, const char *device)
{
	char *forbidden = port_forbidden(device);

	snprintf(why, PORT_WHY, "%.100s: %.210s", name,
		 forbidden ? forbidden : "the system does not let this program open it, whatever its "
					 "permissions say");
	free(forbidden);
}

void port_say_absent(char why[PORT_WHY], const char *name, const struct port_list *here)
{
	char list[PORT_WHY / 2];

	snprintf(why, PORT_WHY, "%.100s: there is no such port; is its adapter plugged in? %s",
		 name, port_list_say(here, list, sizeof list));
}
