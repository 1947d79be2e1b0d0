/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Minutes on their way to the archives; see gathered.h.
 */
#include "conf/gathered.h"

#include <string.h>

#include "conf/checksum.h"

static const char mark[GATHERED_MARK] = "WSMIN 1";

/* What a record begins with; the cells follow. */
struct head {
	uint64_t sum; /* of all that follows it */
	char name[ENCLOSURE_NAME];
	int64_t end;
	uint32_t series, count;
};

void gathered_mark(unsigned char *at)
{
	memcpy(at, mark, sizeof mark);
}

size_t gathered_size(size_t count)
{
	return sizeof(struct head) + count * sizeof(struct minute_cell);
}

void gathered_put(unsigned char *at, const struct gathered_minute *minute)
{
	struct head head = { .end = minute->end, .series = minute->series,
			     .count = minute->count };
	size_t size = gathered_size(minute->count);

	memcpy(head.name, minute->name, sizeof head.name);
	memcpy(at, &head, sizeof head);
	memcpy(at + sizeof head, minute->cells, minute->count * sizeof *minute->cells);
	head.sum = checksum(at + sizeof head.sum, size - sizeof head.sum);
	memcpy(at, &head.sum, sizeof head.sum);
}

/* Whether the head can be one of ours: its sum alone may be right by design of
 * whoever wrote the file. */
static bool is_ours(const struct head *head)
{
	struct series series[MAX_SERIES];

	return series_in(head->series, series) == head->count &&
	       head->series >> MAX_SERIES == 0 && head->end > 0 && head->end % ARCHIVE_STEP == 0;
}

/* The head of the record at `at`; false when no record can be there. */
static bool head_at(const unsigned char *bytes, size_t size, size_t at, struct head *head)
{
	if (size - at < sizeof *head)
		return false;
	memcpy(head, bytes + at, sizeof *head);
	return head->count <= MAX_SERIES && head->name[0] &&
	       memchr(head->name, 0, sizeof head->name) && size - at >= gathered_size(head->count);
}

bool gathered_next(const unsigned char *bytes, size_t size, const char *name, size_t *at,
		   struct gathered_minute *minute)
{
	struct head head;
	size_t from = *at ? *at : sizeof mark;

	if (size < sizeof mark || memcmp(bytes, mark, sizeof mark) != 0)
		return false;
	while (head_at(bytes, size, from, &head) && name && strcmp(head.name, name) != 0)
		from += gathered_size(head.count);
	*at = from;
	if (!head_at(bytes, size, from, &head) || !is_ours(&head) ||
	    checksum(bytes + from + sizeof head.sum,
		     gathered_size(head.count) - sizeof head.sum) != head.sum)
		return false;
	*minute = (struct gathered_minute){ .end = head.end, .series = head.series,
					    .count = head.count };
	memcpy(minute->name, head.name, sizeof minute->name);
	memcpy(minute->cells, bytes + from + sizeof head, head.count * sizeof *minute->cells);
	*at = from + gathered_size(head.count);
	return true;
}
