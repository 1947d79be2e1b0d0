/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Telling systemd; see service.h.  The one user of libsystemd.
 */
#include "daemon/service.h"

#include <systemd/sd-daemon.h>

void service_ready(void)
{
	sd_notify(0, "READY=1");
}

void service_reloading(void)
{
	sd_notify(0, "RELOADING=1");
}

void service_alive(void)
{
	sd_notify(0, "WATCHDOG=1");
}

void service_stopping(void)
{
	sd_notify(0, "STOPPING=1");
}
