/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sum over bytes, to know what was torn by a sudden end from what is whole.
 * No protection against anybody.
 */
#ifndef WARMSIDE_CONF_CHECKSUM_H
#define WARMSIDE_CONF_CHECKSUM_H

#include <stddef.h>
#include <stdint.h>

/* FNV-1a, over eight bytes at a time; what is left over at the end does not
 * count. */
uint64_t checksum(const void *bytes, size_t size);

#endif
