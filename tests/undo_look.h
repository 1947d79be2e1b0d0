/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A look at the undo file from outside.
 */
#ifndef WARMSIDE_TESTS_UNDO_LOOK_H
#define WARMSIDE_TESTS_UNDO_LOOK_H

#include <stdbool.h>

/* Whether that of this archive folder holds heads: files are being written, or were
 * when the archivist was killed. */
bool undo_holds_heads(const char *folder);

#endif
