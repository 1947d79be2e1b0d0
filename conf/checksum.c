/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A sum over bytes; see checksum.h.
 */
#include "conf/checksum.h"

#include <string.h>

uint64_t checksum(const void *bytes, size_t size)
{
	const unsigned char *at = bytes;
	uint64_t sum = 0xcbf29ce484222325u, word;

	for (size_t i = 0; i + sizeof word <= size; i += sizeof word) {
		memcpy(&word, at + i, sizeof word);
		sum = (sum ^ word) * 0x100000001b3u;
	}
	return sum;
}
