/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The lock on a state folder, as others see it.
 */
#ifndef WARMSIDE_CONF_LOCKFILE_H
#define WARMSIDE_CONF_LOCKFILE_H

#include <stdbool.h>

/* True when a daemon (or a replay) holds this state folder. */
bool state_is_held(const char *state);

#endif
