/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Memory for the watcher alone; see unshared.h.
 */
#include "daemon/unshared.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>

static size_t bytes_of(size_t count, size_t size)
{
	if (size && count > SIZE_MAX / size)
		return SIZE_MAX; /* there is no so much: mmap says so */
	return count && size ? count * size : 1;
}

void *unshared_calloc(size_t count, size_t size)
{
	size_t bytes = bytes_of(count, size);
	void *memory = mmap(NULL, bytes, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);

	if (memory == MAP_FAILED) {
		fputs("out of memory\n", stderr);
		abort();
	}
	madvise(memory, bytes, MADV_DONTFORK); /* without it all works, in more memory */
	return memory;
}

void unshared_free(void *memory, size_t count, size_t size)
{
	if (memory)
		munmap(memory, bytes_of(count, size));
}
