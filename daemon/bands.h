/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Keeps bands.jsonl: whenever the configuration comes to say something else
 * of a series than it did, a line says so.
 */
#ifndef WARMSIDE_DAEMON_BANDS_H
#define WARMSIDE_DAEMON_BANDS_H

#include "conf/model.h"

/* Appends what has changed as of `now`.  A failure is logged, no more: the
 * ribbons of the past suffer, the watch does not. */
void bands_note(const struct conf *conf, double now);

#endif
