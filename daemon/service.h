/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a service manager is told; nothing when there is none.
 */
#ifndef WARMSIDE_DAEMON_SERVICE_H
#define WARMSIDE_DAEMON_SERVICE_H

/* The watch has begun. */
void service_ready(void);

/* The configuration is being read again; service_ready ends it. */
void service_reloading(void);

/* The loop turns; said every second.  A manager that waits for it in vain (WatchdogSec=)
 * ends the watch and begins it again. */
void service_alive(void);

/* The end has begun. */
void service_stopping(void);

#endif
