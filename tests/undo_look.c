/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * See undo_look.h.
 */
#include "tests/undo_look.h"

#include <fcntl.h>
#include <stdint.h>
#include <stdlib.h>
#include <unistd.h>

#include "conf/memory.h"

bool undo_holds_heads(const char *folder)
{
	char *path = must_print("%s/.undo", folder);
	int fd = open(path, O_RDONLY | O_CLOEXEC);
	uint64_t size = 0; /* the second word: bytes of heads */
	bool holds = fd >= 0 && pread(fd, &size, sizeof size, 8) == sizeof size && size;

	if (fd >= 0)
		close(fd);
	free(path);
	return holds;
}
