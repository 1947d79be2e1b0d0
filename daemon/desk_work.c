/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A batch into its archives, many side by side; see desk.h.
 */
#include "daemon/desk.h"

#include <stdlib.h>
#include <string.h>

#include "conf/layout.h"
#include "conf/memory.h"
#include "daemon/archive.h"
#include "daemon/archive_resize.h"
#include "daemon/log.h"
#include "daemon/when.h"

enum {
	PARTS = 64,             /* files that are written side by side */
	RESIZE_REST = 3600,     /* s without a try after one that failed */
	RESIZE_MOST = 20,       /* s of a batch in which one is begun: the watcher waits for it */
};

/* A section of a batch on its way into its file. */
struct part {
	uint32_t section;
	char name[ENCLOSURE_NAME];
	struct archive_minute *minutes;
	size_t count, taken;            /* there are, and are dealt with */
	struct archive_job *job;
	bool touched;                   /* its head is kept */
	char why[ARCHIVE_TEXT];
};

/* The whole minutes of one section, `most` at most, into part. */
static void take_minutes(struct part *part, const unsigned char *bytes, size_t size,
			 uint32_t most)
{
	part->count = 0;
	part->minutes = must_calloc(most, sizeof *part->minutes);
	while (part->count < most && size >= sizeof(struct minute_head)) {
		struct minute_head head;

		memcpy(&head, bytes, sizeof head);
		size_t whole = sizeof head + head.count * sizeof(struct minute_cell);

		if (size < whole)
			break;
		part->minutes[part->count++] =
			(struct archive_minute){ head.end, head.series,
						 (const void *)(bytes + sizeof head) };
		bytes += whole;
		size -= whole;
	}
}

/* The next section into *part; false when the batch has no more, or was cut
 * short there because the watcher died while it wrote. */
static bool next_part(const struct batch *batch, uint32_t number, size_t *at, struct part *part)
{
	struct section_head section;

	if (number >= batch->head.sections || batch->size - *at < sizeof section)
		return false;
	memcpy(&section, batch->bytes + *at, sizeof section);
	*at += sizeof section;
	size_t there = batch->size - *at < section.size ? batch->size - *at : section.size;

	*part = (struct part){ .section = number };
	memcpy(part->name, section.name, sizeof part->name);
	take_minutes(part, batch->bytes + *at, there, section.minutes);
	*at += there;
	return true;
}

/* Whether the file is to get other rows now: it takes a while, and the watcher waits. */
static bool is_to_resize(const struct batch *batch, const struct archive_job *job)
{
	const struct archive_head *head = archive_touches(job);
	double now = when_monotonic();

	return head && !archive_rows_fit(head, batch->head.rows) && now >= batch->resize_at &&
	       now <= batch->resize_until;
}

/* What keeps a file from getting other rows (a full disk) keeps no minute from being
 * written, and is said once an hour. */
static void resize(struct batch *batch, const char *name, const char *path)
{
	char why[ARCHIVE_TEXT];

	if (archive_resize(path, batch->head.rows, why)) {
		log_info("%s.rrd has as many rows now as archive { } says", name);
		return;
	}
	log_warn("%s.rrd keeps the rows it has, not those that archive { } says: %s", name, why);
	batch->resize_at = when_monotonic() + RESIZE_REST;
}

static void begin_job(const struct batch *batch, struct part *part, const char *path)
{
	if (part->job)
		archive_end(part->job);
	part->job = archive_begin(path, batch->head.rows, part->minutes + part->taken,
				  part->count - part->taken, part->why);
}

/* A file that turns out to be damaged is set aside and begun anew. */
static void begin_part(struct desk *desk, struct part *part)
{
	char *path = archive_path(desk->a->state, part->name), why[ARCHIVE_TEXT];

	desk_take_in_hand(desk, part->name);
	bool good = undo_put_back(&desk->undo, part->name, why);

	if (!good) { /* and is not opened: it must not become wider either */
		part->job = archive_begin(path, desk->batch.head.rows, NULL, 0, part->why);
		archive_refuse(part->job, why);
	} else {
		begin_job(&desk->batch, part, path);
	}
	if (archive_result(part->job) == ARCHIVE_DAMAGED) {
		if (desk_set_aside(desk, part->name, part->why))
			begin_job(&desk->batch, part, path);
	} else if (is_to_resize(&desk->batch, part->job)) {
		resize(&desk->batch, part->name, path);
		begin_job(&desk->batch, part, path);
	}
	desk_take_in_hand(desk, "");
	free(path);
}

static void refuse_all(struct part *parts, size_t count, const char *why)
{
	for (size_t i = 0; i < count; i++)
		archive_refuse(parts[i].job, why);
}

/* The head of every file that will be touched is kept, or none is touched. */
static void keep_heads(struct desk *desk, struct part *parts, size_t count)
{
	char why[ARCHIVE_TEXT];
	size_t kept = 0;

	for (size_t i = 0; i < count; i++) {
		const struct archive_head *head = archive_touches(parts[i].job);

		parts[i].touched = head;
		if (head)
			undo_add(&desk->undo, parts[i].name, head);
		kept += parts[i].touched;
	}
	/* One that may hold heads of what is written by now is no ground to stand on. */
	if ((!kept && !desk->undo.unsure) ||
	    undo_write(&desk->undo, desk->batch.head.synced, why))
		return;
	refuse_all(parts, count, why);
	for (size_t i = count; i-- > 0; parts[i].touched = false)
		if (parts[i].touched)
			undo_forget(&desk->undo, parts[i].name);
}

/* What failed gets its head back. */
static void drop_heads(struct desk *desk, struct part *parts, size_t count)
{
	char why[ARCHIVE_TEXT];
	size_t dropped = 0;

	for (size_t i = count; i-- > 0; dropped += parts[i].touched) {
		if (!parts[i].touched)
			continue;
		if (archive_result(parts[i].job) == ARCHIVE_WRITTEN)
			undo_forget(&desk->undo, parts[i].name);
		else if (!undo_put_back(&desk->undo, parts[i].name, why))
			log_warn("%s.rrd: %s", parts[i].name, why);
	}
	if (dropped && !undo_write(&desk->undo, desk->batch.head.synced, why))
		refuse_all(parts, count, why);
}

/* True when the part needs another round, because the file is to be wider first. */
static bool end_part(const struct desk *desk, struct part *part)
{
	struct report report = { .number = desk->batch.head.number, .kind = REPORT_FAILED,
				 .section = part->section };
	bool good = archive_result(part->job) == ARCHIVE_WRITTEN;

	archive_end(part->job);
	part->job = NULL;
	if (good && part->taken < part->count)
		return true;
	if (!good) {
		memcpy(report.name, part->name, sizeof report.name);
		memcpy(report.text, part->why, sizeof report.text);
		desk_tell(desk, &report);
	}
	free(part->minutes);
	return false;
}

/* One round; returns how many parts, at the head of the list, need another.  The
 * order is what a kill or a power cut must find: the heads are kept before any
 * row is written, the rows are on the disk before the heads are dropped, and
 * all of it is before the batch is acknowledged. */
static size_t write_round(struct desk *desk, struct part *parts, size_t count)
{
	size_t left = 0;

	for (size_t i = 0; i < count; i++)
		begin_part(desk, &parts[i]);
	keep_heads(desk, parts, count);
	for (size_t i = 0; i < count; i++) {
		desk_take_in_hand(desk, parts[i].name);
		parts[i].taken += archive_write(parts[i].job);
		desk_take_in_hand(desk, "");
	}
	for (size_t i = 0; desk->batch.head.synced && i < count; i++)
		if (parts[i].touched)
			archive_sync(parts[i].job);
	drop_heads(desk, parts, count);
	for (size_t i = 0; i < count; i++)
		if (end_part(desk, &parts[i]))
			parts[left++] = parts[i];
	return left;
}

void desk_work(struct desk *desk)
{
	struct batch *batch = &desk->batch;
	struct part *parts = must_calloc(PARTS, sizeof *parts);
	size_t at = 0, count = 0;
	uint32_t number = 0;

	batch->resize_until = when_monotonic() + RESIZE_MOST;
	while (next_part(batch, number, &at, &parts[count])) {
		number++;
		if (++count < PARTS)
			continue;
		while (count)
			count = write_round(desk, parts, count);
	}
	while (count)
		count = write_round(desk, parts, count);
	free(parts);
	if (number == batch->head.sections)
		desk_tell(desk, &(struct report){ .number = batch->head.number, .kind = REPORT_DONE });
}
