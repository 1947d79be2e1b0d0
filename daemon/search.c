/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is on a port; see search.h.
 */
#include "daemon/search.h"

#include <limits.h>
#include <stdlib.h>

#include "conf/memory.h"
#include "conf/utf8.h"
#include "daemon/port_holder.h"
#include "daemon/ports.h"

/* A board that prints every few seconds is heard at once; one that does so
 * seldom is noticed while addresses are asked, and then waited for. */
static const double first_patience = 5; /* s */
static const double long_patience = 65; /* s */

static const char watch_cure[] =
	": a service by `systemctl stop warmsided`; what was started by hand by Ctrl-C or `kill` with "
	"its number, and what cron starts must be kept from starting again.  Nobody watches "
	"meanwhile, so start it again right afterwards";

void search_free(struct search *search)
{
	heard_free(&search->heard);
	scan_free(&search->scan);
}

static enum scan_end as_scan(enum listen_end end)
{
	return end == LISTEN_STOPPED   ? SCAN_STOPPED
	       : end == LISTEN_NO_PORT ? SCAN_NO_PORT
				       : SCAN_COMPLETE;
}

static bool somebody(const struct scan *scan)
{
	for (size_t i = 0; i < scan->found_count; i++)
		if (!scan->found[i].garbled)
			return true;
	return false;
}

enum scan_end search_run(const char *port, struct search *search, const struct scan_sink *sink,
			 int signals, char why[PORT_WHY])
{
	bool one_setting = search->scan.plan.one_setting;
	enum scan_end end =
		as_scan(listen_bauds(port, first_patience, signals, &search->heard, why));

	search->talks = search->heard.bytes > 0;
	if (end != SCAN_COMPLETE || search->heard.guessed)
		return end;
	scan_plan_port(&search->scan.plan);
	search->scan.plan.one_setting = one_setting;
	end = scan_run(port, &search->scan, sink, signals, why);
	search->talks = search->talks || search->scan.figures.garbled > 0;
	if (end != SCAN_COMPLETE || somebody(&search->scan) || !search->talks)
		return end;
	heard_free(&search->heard);
	return as_scan(listen_bauds(port, long_patience, signals, &search->heard, why));
}

char *search_hindrance(const char *port)
{
	char why[PORT_WHY], holders_text[PORT_HOLDER_TEXT];
	char *device, *forbidden, *text = NULL;
	struct port_holders holders;

	if (!utf8_is_line(port, PATH_MAX))
		return must_copy("the name of this port holds what no configuration can: it must be UTF-8 "
				 "without control characters");
	device = port_find(port, why);
	if (!device)
		return must_copy(why);
	holders = port_holders(device);
	port_holders_in_the_way(&holders);
	forbidden = port_forbidden(device);
	if (holders.count > 0)
		text = must_print("%s is held by %s; end that first%s", port,
				  port_holders_text(&holders, holders_text),
				  port_held_by_watch(&holders) ? watch_cure : "");
	else if (forbidden)
		text = must_print("%s: %s", port, forbidden);
	free(forbidden);
	free(device);
	return text;
}
