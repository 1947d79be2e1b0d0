/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Queues of minutes waiting for the archivist; see backlog.h.
 */
#include "daemon/backlog.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

enum {
	FIRST_ROOM = 512,   /* bytes: a few minutes; many enclosures each have it */
	IDLE_ROOM = 262144, /* bytes an empty queue may keep */
	NO_SECTION = -1,
};

/* One enclosure's queue: bytes [from, used) are minute_head and cells again
 * and again; the first `handed` of them are with the archivist. */
struct lane {
	char name[ENCLOSURE_NAME];
	uint32_t series; /* the set of series the configuration has for it */
	size_t count;    /* of that set */
	unsigned char *bytes;
	size_t from, used, room;
	size_t handed;
	long section; /* of the batch out, or NO_SECTION */
	bool held;
	double until; /* monotonic, s: when held */
};

struct backlog {
	size_t ceiling, bytes;
	unsigned long dropped;
	size_t enclosures; /* lanes of the configuration, in its order */
	size_t count;      /* all lanes: those of enclosures that are gone come after */
	struct lane *lanes;
	size_t next; /* lane that is served first in the next batch */
};

static void configure(struct lane *lane, const struct conf *conf, const struct enclosure *enclosure)
{
	struct series series[MAX_SERIES];

	snprintf(lane->name, sizeof lane->name, "%s", enclosure->name);
	lane->series = 0;
	lane->count = enclosure_series(conf, enclosure, series);
	for (size_t i = 0; i < lane->count; i++)
		lane->series |= series_bit(series[i]);
}

struct backlog *backlog_new(const struct conf *conf, size_t ceiling)
{
	struct backlog *b = must_calloc(1, sizeof *b);

	b->ceiling = ceiling;
	backlog_reload(b, conf);
	return b;
}

void backlog_free(struct backlog *b)
{
	if (!b)
		return;
	for (size_t i = 0; i < b->count; i++)
		free(b->lanes[i].bytes);
	free(b->lanes);
	free(b);
}

static struct lane *find(struct backlog *b, const char *name)
{
	for (size_t i = 0; i < b->count; i++)
		if (b->lanes[i].name[0] && strcmp(b->lanes[i].name, name) == 0)
			return &b->lanes[i];
	return NULL;
}

/* Lanes keep their queue by name; a moved one leaves an empty name behind. */
void backlog_reload(struct backlog *b, const struct conf *conf)
{
	struct lane *lanes = must_calloc(conf->enclosure_count + b->count, sizeof *lanes);
	size_t count = conf->enclosure_count;

	for (size_t i = 0; i < count; i++) {
		struct lane *old = find(b, conf->enclosures[i].name);

		lanes[i].section = NO_SECTION;
		if (old) {
			lanes[i] = *old;
			old->name[0] = '\0';
			old->bytes = NULL;
		}
		configure(&lanes[i], conf, &conf->enclosures[i]);
	}
	for (size_t i = 0; i < b->count; i++) {
		if (b->lanes[i].name[0] && b->lanes[i].used > b->lanes[i].from)
			lanes[count++] = b->lanes[i];
		else
			free(b->lanes[i].bytes);
	}
	free(b->lanes);
	b->lanes = lanes;
	b->enclosures = conf->enclosure_count;
	b->count = count;
	b->next = 0;
}

static size_t record_size(const unsigned char *record)
{
	struct minute_head head;

	memcpy(&head, record, sizeof head);
	return sizeof head + head.count * sizeof(struct minute_cell);
}

/* Drops the oldest minute that is not with the archivist; false for none. */
static bool drop_oldest(struct backlog *b)
{
	struct lane *oldest = NULL;
	struct minute_head head;
	int64_t end = INT64_MAX;

	for (size_t i = 0; i < b->count; i++) {
		struct lane *lane = &b->lanes[i];

		if (lane->from + lane->handed == lane->used)
			continue;
		memcpy(&head, lane->bytes + lane->from + lane->handed, sizeof head);
		if (head.end < end) {
			end = head.end;
			oldest = lane;
		}
	}
	if (!oldest)
		return false;
	unsigned char *record = oldest->bytes + oldest->from + oldest->handed;
	size_t size = record_size(record);

	/* What is with the archivist may come back and must stay in one piece. */
	memmove(oldest->bytes + oldest->from + size, oldest->bytes + oldest->from, oldest->handed);
	oldest->from += size;
	b->bytes -= size;
	b->dropped++;
	return true;
}

static unsigned char *make_room(struct lane *lane, size_t size)
{
	if (lane->used + size > lane->room && lane->from && lane->from >= lane->room / 2) {
		memmove(lane->bytes, lane->bytes + lane->from, lane->used - lane->from);
		lane->used -= lane->from;
		lane->from = 0;
	}
	if (lane->used + size > lane->room) {
		size_t room = lane->room ? 2 * lane->room : FIRST_ROOM;

		lane->room = room > lane->used + size ? room : lane->used + size;
		lane->bytes = must_resize(lane->bytes, lane->room, 1);
	}
	lane->used += size;
	return lane->bytes + lane->used - size;
}

/* Queues a record; what it has no room for drives the oldest out. */
static void queue(struct backlog *b, size_t index, const struct minute_head *head,
		  const struct minute_cell *cells)
{
	struct lane *lane = &b->lanes[index];
	size_t size = head->count * sizeof *cells;

	while (b->bytes + sizeof *head + size > b->ceiling)
		if (!drop_oldest(b))
			break;
	unsigned char *at = make_room(lane, sizeof *head + size);

	memcpy(at, head, sizeof *head);
	memcpy(at + sizeof *head, cells, size);
	b->bytes += sizeof *head + size;
}

void backlog_add(struct backlog *b, size_t enclosure, const struct closed_minute *minute)
{
	const struct lane *lane = &b->lanes[enclosure];
	struct minute_head head = { minute->end, lane->series, (uint32_t)lane->count };

	assert(minute->count == lane->count);
	queue(b, enclosure, &head, minute->cells);
}

void backlog_restore(struct backlog *b, const struct gathered_minute *minute)
{
	const struct lane *lane = find(b, minute->name);
	struct minute_head head = { minute->end, minute->series, minute->count };

	if (!lane) {
		struct lane gone = { .section = NO_SECTION };

		memcpy(gone.name, minute->name, sizeof gone.name);
		b->lanes = must_resize(b->lanes, b->count + 1, sizeof *b->lanes);
		b->lanes[b->count] = gone;
		lane = &b->lanes[b->count++];
	}
	queue(b, (size_t)(lane - b->lanes), &head, minute->cells);
}

void backlog_describe(const struct backlog *b, size_t enclosure,
		      const struct closed_minute *minute, struct gathered_minute *out)
{
	const struct lane *lane = &b->lanes[enclosure];

	*out = (struct gathered_minute){ .end = minute->end, .series = lane->series,
					 .count = (uint32_t)lane->count };
	memcpy(out->name, lane->name, sizeof out->name);
	memcpy(out->cells, minute->cells, lane->count * sizeof *out->cells);
}

/* The record at `at` of a lane; returns where the next one is. */
static size_t record_at(const struct lane *lane, size_t at, struct gathered_minute *out)
{
	struct minute_head head;

	memcpy(&head, lane->bytes + at, sizeof head);
	*out = (struct gathered_minute){ .end = head.end, .series = head.series,
					 .count = head.count };
	memcpy(out->name, lane->name, sizeof out->name);
	memcpy(out->cells, lane->bytes + at + sizeof head, head.count * sizeof *out->cells);
	return at + record_size(lane->bytes + at);
}

void backlog_each(const struct backlog *b,
		  void (*visit)(void *context, const struct gathered_minute *minute),
		  void *context)
{
	struct gathered_minute minute;

	for (size_t i = 0; i < b->count; i++)
		for (size_t at = b->lanes[i].from; at < b->lanes[i].used;) {
			at = record_at(&b->lanes[i], at, &minute);
			visit(context, &minute);
		}
}

size_t backlog_bytes(const struct backlog *b)
{
	return b->bytes;
}

unsigned long backlog_dropped(const struct backlog *b)
{
	return b->dropped;
}

static bool may_go(const struct lane *lane, double now, enum backlog_pick pick)
{
	return lane->used > lane->from && (lane->held ? now >= lane->until : pick == BACKLOG_ALL);
}

size_t backlog_ready(const struct backlog *b, double now, enum backlog_pick pick)
{
	size_t ready = 0;

	for (size_t i = 0; i < b->count; i++)
		if (may_go(&b->lanes[i], now, pick))
			ready += b->lanes[i].used - b->lanes[i].from;
	return ready;
}

double backlog_held_until(const struct backlog *b, double now)
{
	double until = INFINITY;

	for (size_t i = 0; i < b->count; i++)
		if (b->lanes[i].held && b->lanes[i].until > now)
			until = fmin(until, b->lanes[i].until);
	return until;
}

/* One section, as large as there is room for; returns its bytes, 0 for none. */
static size_t fill_section(struct lane *lane, unsigned char *bytes, size_t most)
{
	struct section_head head = { .size = 0 };

	if (most < sizeof head)
		return 0;
	while (lane->from + head.size < lane->used) {
		size_t size = record_size(lane->bytes + lane->from + head.size);

		if (sizeof head + head.size + size > most)
			break;
		head.size += (uint32_t)size;
		head.minutes++;
	}
	if (!head.minutes)
		return 0;
	memcpy(head.name, lane->name, sizeof head.name);
	memcpy(bytes, &head, sizeof head);
	memcpy(bytes + sizeof head, lane->bytes + lane->from, head.size);
	lane->handed = head.size;
	return sizeof head + head.size;
}

size_t backlog_fill(struct backlog *b, double now, enum backlog_pick pick, unsigned char *bytes,
		    size_t most, uint32_t *sections)
{
	size_t used = 0;

	*sections = 0;
	for (size_t i = 0; i < b->count; i++) {
		struct lane *lane = &b->lanes[(b->next + i) % b->count];

		if (!may_go(lane, now, pick))
			continue;
		size_t size = fill_section(lane, bytes + used, most - used);

		if (!size) { /* it is the first of the next batch */
			b->next = (b->next + i) % b->count;
			return used;
		}
		lane->section = (long)(*sections)++;
		used += size;
	}
	return used;
}

void backlog_hold(struct backlog *b, uint32_t section, double until)
{
	for (size_t i = 0; i < b->count; i++) {
		struct lane *lane = &b->lanes[i];

		if (lane->section != (long)section)
			continue;
		lane->held = true;
		lane->until = until;
		lane->handed = 0;
		lane->section = NO_SECTION;
	}
}

void backlog_settle(struct backlog *b)
{
	for (size_t i = 0; i < b->count; i++) {
		struct lane *lane = &b->lanes[i];

		if (lane->section == NO_SECTION)
			continue;
		lane->from += lane->handed;
		b->bytes -= lane->handed;
		lane->handed = 0;
		lane->held = false;
		lane->section = NO_SECTION;
		if (lane->from < lane->used)
			continue;
		lane->from = lane->used = 0;
		if (lane->room > IDLE_ROOM) {
			free(lane->bytes);
			lane->bytes = NULL;
			lane->room = 0;
		}
	}
}

void backlog_recall(struct backlog *b)
{
	for (size_t i = 0; i < b->count; i++) {
		b->lanes[i].handed = 0;
		b->lanes[i].section = NO_SECTION;
	}
}

bool backlog_handed(const struct backlog *b, const char *name)
{
	for (size_t i = 0; i < b->count; i++)
		if (strcmp(b->lanes[i].name, name) == 0)
			return b->lanes[i].section != NO_SECTION;
	return false;
}

bool backlog_holding(const struct backlog *b)
{
	for (size_t i = 0; i < b->count; i++)
		if (b->lanes[i].held)
			return true;
	return false;
}

size_t backlog_index(const struct backlog *b, const char *name, size_t none)
{
	for (size_t i = 0; i < b->enclosures; i++)
		if (strcmp(b->lanes[i].name, name) == 0)
			return i;
	return none;
}
