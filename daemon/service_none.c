/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * No service manager to tell; see service.h.
 */
#include "daemon/service.h"

void service_ready(void)
{
}

void service_reloading(void)
{
}

void service_alive(void)
{
}

void service_stopping(void)
{
}
