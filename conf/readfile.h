/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A whole small file into memory, with a ceiling.
 */
#ifndef WARMSIDE_CONF_READFILE_H
#define WARMSIDE_CONF_READFILE_H

#include <stddef.h>

/* The bytes of the file with a zero after them; the caller frees.  NULL with
 * errno when it cannot be read, is a folder (EISDIR) or holds more than
 * `ceiling` bytes (EFBIG). */
char *file_read(const char *path, size_t ceiling, size_t *size);

#endif
