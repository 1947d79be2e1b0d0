/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * dryings.jsonl -> the flow; see laws.h.
 */
#include "daemon/laws.h"

#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"

enum {
	EVERY = 3600,           /* s between two looks */
	TAIL = 2 << 20,         /* bytes: the last nights of a few hundred enclosures */
};

static bool is_wanted(const struct conf *conf)
{
	for (size_t e = 0; e < conf->enclosure_count; e++)
		if (conf->enclosures[e].misting_due > 0)
			return true;
	return false;
}

/* The file's last bytes, a zero after them; NULL when there are none.  The caller frees. */
static char *read_tail(const char *path)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
	struct stat about;

	if (fd < 0)
		return NULL;
	if (fstat(fd, &about) != 0 || !S_ISREG(about.st_mode)) {
		close(fd);
		return NULL;
	}
	size_t size = about.st_size > TAIL ? TAIL : (size_t)about.st_size, length = 0;
	char *text = must_calloc(size + 1, 1);
	ssize_t got;

	while (length < size && (got = pread(fd, text + length, size - length,
					     about.st_size - (off_t)(size - length))) > 0)
		length += (size_t)got;
	close(fd);
	return text;
}

/* One of that enclosure is there already: the later line. */
static bool is_known(const struct drying_record *records, size_t count, const char *enclosure)
{
	for (size_t i = 0; i < count; i++)
		if (strcmp(records[i].enclosure, enclosure) == 0)
			return true;
	return false;
}

/* The last record of each enclosure that has a law, the last line first.  Of a file cut at its begin the
 * first line is torn. */
static size_t read_records(char *text, struct flow *flow, struct drying_record *records)
{
	size_t count = 0, most = flow->conf->enclosure_count;

	while (*text && count < most) {
		char *end = strrchr(text, '\n');
		char *line = end ? end + 1 : text;
		struct drying_record *record = &records[count];

		if (*line && drying_from_line(line, record)) {
			free(record->list);
			record->list = NULL;
			record->count = 0;
			count += record->has_law &&
				 flow_enclosure(flow, record->enclosure) != NULL &&
				 !is_known(records, count, record->enclosure);
		}
		if (!end)
			break;
		*end = '\0';
	}
	return count;
}

static bool is_same(const struct stat *a, const struct stat *b)
{
	return a->st_ino == b->st_ino && a->st_size == b->st_size &&
	       a->st_mtim.tv_sec == b->st_mtim.tv_sec && a->st_mtim.tv_nsec == b->st_mtim.tv_nsec;
}

void laws_tick(struct laws *laws, struct flow *flow)
{
	struct stat about = { 0 };

	if (laws->known && fabs(flow->now - laws->looked) < EVERY)
		return;
	if (!flow->conf->state || !is_wanted(flow->conf))
		return;
	char *path = state_path(flow->conf->state, DRYINGS_FILE);

	if (stat(path, &about) != 0)
		about = (struct stat){ 0 };
	if (!laws->known || !is_same(&about, &laws->about)) {
		struct drying_record *records =
			must_calloc(flow->conf->enclosure_count, sizeof *records);
		char *text = read_tail(path);

		flow_laws(flow, records, text ? read_records(text, flow, records) : 0);
		free(text);
		free(records);
	}
	laws->about = about;
	laws->known = true;
	laws->looked = flow->now;
	free(path);
}
