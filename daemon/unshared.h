/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Memory that children born by fork() do not have.  What the watcher changes
 * with every reading would else be there three times, because the kernel
 * copies a page for whoever changes it and keeps the old one for the others.
 */
#ifndef WARMSIDE_DAEMON_UNSHARED_H
#define WARMSIDE_DAEMON_UNSHARED_H

#include <stddef.h>

/* Room for so many, zeroed; never NULL: out of memory ends the program. */
void *unshared_calloc(size_t count, size_t size);

/* Gives it back; count and size as it was asked for.  NULL is fine. */
void unshared_free(void *memory, size_t count, size_t size);

#endif
