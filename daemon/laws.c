/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * dryings.jsonl -> the flow; see laws.h.
 */
#include "daemon/laws.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/flow_tell.h"

enum {
	EVERY = 3600,           /* s between two looks */
	TAIL = 4 << 20,         /* bytes: the last night of a few hundred enclosures, and a limit
				 * to how long the poll loop stands still for it */
	SHORTEST = 200,         /* bytes: no record is shorter */
};

static bool is_wanted(const struct conf *conf)
{
	for (size_t e = 0; e < conf->enclosure_count; e++)
		if (conf->enclosures[e].misting_due > 0)
			return true;
	return false;
}

/* The file's last bytes, room for a zero after them; NULL, with errno, when it cannot be
 * read.  The caller frees. */
static char *read_tail(const char *path, size_t *length)
{
	int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
	struct stat about;

	if (fd < 0)
		return NULL;
	if (fstat(fd, &about) != 0 || !S_ISREG(about.st_mode)) {
		close(fd);
		errno = EINVAL;
		return NULL;
	}
	size_t size = about.st_size > TAIL ? TAIL : (size_t)about.st_size;
	char *text = must_calloc(size + 1, 1);
	ssize_t got;

	*length = 0;
	while (*length < size && (got = pread(fd, text + *length, size - *length,
					      about.st_size - (off_t)(size - *length))) > 0)
		*length += (size_t)got;
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

/* One line; true when it is the last record with a law of an enclosure of ours. */
static bool take_line(const char *line, struct flow *flow, struct drying_record *records,
		      size_t count)
{
	struct drying_record *record = &records[count];

	if (strlen(line) < SHORTEST || !drying_from_line(line, record))
		return false;
	free(record->list);
	record->list = NULL;
	record->count = 0;
	return record->has_law && flow_enclosure(flow, record->enclosure) != NULL &&
	       !is_known(records, count, record->enclosure);
}

/* The last record of each enclosure that has a law, the last line first.  Of a file cut at
 * its begin the first line is torn. */
static size_t read_records(char *text, size_t length, struct flow *flow,
			   struct drying_record *records)
{
	size_t count = 0, most = flow->conf->enclosure_count;

	while (count < most) {
		const char *end = memrchr(text, '\n', length);
		size_t begin = end ? (size_t)(end - text) + 1 : 0;

		text[length] = '\0';
		count += take_line(text + begin, flow, records, count);
		if (!end)
			break;
		length = begin - 1;
	}
	return count;
}

static void take_laws(struct laws *laws, struct flow *flow, const char *path)
{
	struct drying_record *records = must_calloc(flow->conf->enclosure_count, sizeof *records);
	size_t length;
	char *text = read_tail(path, &length);

	if (log_changed(&laws->failing, !text && errno != ENOENT) && laws->failing.on)
		log_errno("%s cannot be read", path);
	if (!text)
		laws->about = (struct stat){ 0 }; /* it is tried again */
	flow_laws(flow, records, text ? read_records(text, length, flow, records) : 0);
	free(text);
	free(records);
}

/* That nothing will be told must not be found out by waiting for it. */
static void mind_lacking(struct flow *flow, const char *path)
{
	for (size_t e = 0; e < flow->conf->enclosure_count; e++) {
		struct live_enclosure *enclosure = &flow->enclosures[e];

		if (enclosure->conf->misting_due <= 0 || enclosure->conf->out_of_service ||
		    !log_changed(&enclosure->due->lacking, !due_has_law(flow, enclosure)))
			continue;
		if (enclosure->due->lacking.on)
			log_warn("enclosure \"%s\": no misting will be told as due: %s has nothing "
				 "of the last 14 days to tell it by",
				 enclosure->conf->name, path);
		else
			log_info("enclosure \"%s\": it is known how it dries",
				 enclosure->conf->name);
	}
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
	bool fresh = !laws->known || !is_same(&about, &laws->about);

	laws->about = about;
	if (fresh)
		take_laws(laws, flow, path);
	mind_lacking(flow, path);
	laws->known = true;
	laws->looked = flow->now;
	free(path);
}
