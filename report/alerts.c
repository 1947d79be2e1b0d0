/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alert log; see alerts.h.
 */
#include "report/alerts.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

#include "conf/layout.h"
#include "conf/memory.h"

static void append(struct alert_list *list, const struct alert_record *record)
{
	list->list = must_grow(list->list, list->count, sizeof *list->list);
	list->list[list->count++] = *record;
}

static void add_life(struct alert_lives *lives, const struct alert_life *life)
{
	lives->list = must_grow(lives->list, lives->count, sizeof *lives->list);
	lives->list[lives->count++] = *life;
}

/* ---- following the log ------------------------------------------------------ */

/* The log is read line by line; `alerts->lives` holds what stands so far, and
 * what was cleared in the window.  Few stand at a time, and a long window has
 * many that do not any more: where those that do are is kept beside. */
struct reader {
	struct alerts *alerts;
	struct window window;
	size_t *standing;       /* places in alerts->lives, ascending */
	size_t standing_count;
};

/* The alert of that id, if it stands; else NULL. *at: where it is in `standing`. */
static struct alert_life *find_standing(const struct reader *reader, const char *id, size_t *at)
{
	for (size_t i = reader->standing_count; i-- > 0;) {
		struct alert_life *life = &reader->alerts->lives.list[reader->standing[i]];

		if (strcmp(life->last.id, id) == 0) {
			*at = i;
			return life;
		}
	}
	return NULL;
}

static void begin_life(struct reader *reader, const struct alert_life *life)
{
	reader->standing = must_grow(reader->standing, reader->standing_count,
				       sizeof *reader->standing);
	reader->standing[reader->standing_count++] = reader->alerts->lives.count;
	add_life(&reader->alerts->lives, life);
}

/* It does not stand any more; and is forgotten when it never did in the window. */
static void end_life(struct reader *reader, size_t at, bool forget)
{
	struct alert_lives *lives = &reader->alerts->lives;
	size_t place = reader->standing[at];

	reader->standing_count--;
	for (size_t i = at; i < reader->standing_count; i++)
		reader->standing[i] = reader->standing[i + 1] - (forget ? 1 : 0);
	if (!forget)
		return;
	lives->count--;
	memmove(&lives->list[place], &lives->list[place + 1],
		(lives->count - place) * sizeof *lives->list);
}

static bool is_within(const struct reader *reader, double time)
{
	return time >= reader->window.from && time < reader->window.to;
}

/* Raised, worsened or reminded.  A line may have been lost: worsened is enough
 * to stand, a reminder is not. */
static void note_telling(struct reader *reader, const struct alert_record *record)
{
	size_t at;
	struct alert_life *life = find_standing(reader, record->id, &at);

	if (life) {
		life->last = *record;
		if (life->acknowledged)
			life->waiting = record->time;
		life->acknowledged = false;
	} else if (record->event != REMINDED) {
		begin_life(reader, &(struct alert_life){ .last = *record, .raised = record->time,
							 .waiting = record->time });
	}
}

static void note_acknowledged(struct reader *reader, const struct alert_record *record)
{
	struct alerts *alerts = reader->alerts;
	size_t at;
	struct alert_life *life = find_standing(reader, record->id, &at);

	if (!life || life->acknowledged)
		return;
	life->acknowledged = true;
	life->ack = *record;
	if (!is_within(reader, record->time))
		return;
	alerts->waits = must_grow(alerts->waits, alerts->wait_count, sizeof *alerts->waits);
	alerts->waits[alerts->wait_count++] = fmax(record->time - life->waiting, 0);
}

static void note_cleared(struct reader *reader, const struct alert_record *record)
{
	size_t at;
	struct alert_life *life = find_standing(reader, record->id, &at);

	if (!life)
		return;
	life->over = true;
	life->end = record->time;
	end_life(reader, at, record->time <= reader->window.from);
}

static void note_shelving(struct reader *reader, const struct alert_record *record)
{
	struct alert_list *shelved = &reader->alerts->shelved;
	size_t at = 0;

	while (at < shelved->count &&
	       strcmp(shelved->list[at].enclosure, record->enclosure) != 0)
		at++;
	if (at < shelved->count) {
		shelved->count--;
		memmove(&shelved->list[at], &shelved->list[at + 1],
			(shelved->count - at) * sizeof *shelved->list);
	}
	if (record->event == SHELVED)
		append(shelved, record);
}

static void note_delivered(struct reader *reader, const struct alert_record *record)
{
	struct alerts *alerts = reader->alerts;

	if (!record->message[0] || record->time < reader->window.from)
		return; /* of none, or of one before the window */
	alerts->deliveries = must_grow(alerts->deliveries, alerts->delivery_count,
					 sizeof *alerts->deliveries);

	struct delivery *delivery = &alerts->deliveries[alerts->delivery_count++];

	delivery->time = record->time;
	delivery->known = false;
	memcpy(delivery->message, record->message, sizeof delivery->message);
	memcpy(delivery->webhook, record->webhook, sizeof delivery->webhook);
}

static void follow(struct reader *reader, const struct alert_record *record)
{
	switch (record->event) {
	case RAISED:
	case WORSENED:
	case REMINDED:
		note_telling(reader, record);
		break;
	case ACKNOWLEDGED:
		note_acknowledged(reader, record);
		break;
	case CLEARED:
		note_cleared(reader, record);
		break;
	case SHELVED:
	case UNSHELVED:
		note_shelving(reader, record);
		break;
	case DELIVERED:
		note_delivered(reader, record);
		break;
	case TESTED:
	case EVENTS:
		break; /* a test is no alert */
	}
	if (is_within(reader, record->time))
		append(&reader->alerts->history, record);
}

/* ---- the whole -------------------------------------------------------------- */

static int gravest_first(const void *a, const void *b)
{
	const struct alert_record *one = &((const struct alert_life *)a)->last;
	const struct alert_record *other = &((const struct alert_life *)b)->last;
	int difference = (int)other->priority - (int)one->priority;

	return difference ? difference : (one->time > other->time) - (one->time < other->time);
}

static int by_message(const void *a, const void *b)
{
	const struct delivery *one = a, *other = b;
	int difference = strcmp(one->message, other->message);

	return difference ? difference : (one->time > other->time) - (one->time < other->time);
}

/* The place of a message's first delivery, or of where it would be. */
static size_t find_delivery(const struct alerts *alerts, const char *message)
{
	size_t low = 0, high = alerts->delivery_count;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (strcmp(alerts->deliveries[middle].message, message) < 0)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

bool event_is_told(enum event event)
{
	return event == RAISED || event == WORSENED || event == REMINDED || event == CLEARED ||
	       event == TESTED;
}

static void mark_known(struct alerts *alerts)
{
	for (size_t i = 0; i < alerts->history.count; i++) {
		const struct alert_record *record = &alerts->history.list[i];
		size_t at = find_delivery(alerts, record->message);

		for (; event_is_told(record->event) && at < alerts->delivery_count &&
		       strcmp(alerts->deliveries[at].message, record->message) == 0; at++)
			alerts->deliveries[at].known = true;
	}
}

/* Parts what stands now from what stood in the window. */
static void part(struct alerts *alerts, struct window window)
{
	size_t kept = 0;

	for (size_t i = 0; i < alerts->lives.count; i++) {
		const struct alert_life *life = &alerts->lives.list[i];

		if (!life->over)
			add_life(&alerts->standing, life);
		if (life->raised < window.to)
			alerts->lives.list[kept++] = *life;
	}
	alerts->lives.count = kept;
	if (alerts->standing.count)
		qsort(alerts->standing.list, alerts->standing.count,
		      sizeof *alerts->standing.list, gravest_first);
	if (alerts->delivery_count)
		qsort(alerts->deliveries, alerts->delivery_count, sizeof *alerts->deliveries,
		      by_message);
}

void alerts_read(FILE *file, struct window window, struct alerts *out)
{
	struct reader reader = { .alerts = out, .window = window };
	char *line = NULL;
	size_t size = 0;
	ssize_t length;

	*out = (struct alerts){ 0 };
	while ((length = getline(&line, &size, file)) > 0) {
		struct alert_record record;

		if (strlen(line) == (size_t)length && alert_from_line(line, &record))
			follow(&reader, &record);
		else
			out->torn++;
	}
	free(line);
	free(reader.standing);
	part(out, window);
	mark_known(out);
}

bool alerts_load(const char *state, struct window window, struct alerts *out)
{
	char *path = state_path(state, ALERTS_FILE);
	FILE *file = fopen(path, "re");
	bool missing = !file && errno == ENOENT;
	bool good = file || missing;

	*out = (struct alerts){ 0 };
	if (file) {
		alerts_read(file, window, out);
		good = !ferror(file);
	}
	if (!good) {
		fprintf(stderr, "warmside: %s cannot be read: %s\n", path, strerror(errno));
		alerts_clear(out);
	}
	out->missing = missing;
	if (file)
		fclose(file);
	if (out->torn)
		fprintf(stderr, "warmside: %s: %zu %s passed over, torn or not written by the "
			"daemon\n", path, out->torn, out->torn == 1 ? "line is" : "lines are");
	free(path);
	return good;
}

void alerts_clear(struct alerts *alerts)
{
	free(alerts->standing.list);
	free(alerts->shelved.list);
	free(alerts->history.list);
	free(alerts->lives.list);
	free(alerts->deliveries);
	free(alerts->waits);
	*alerts = (struct alerts){ 0 };
}

bool alert_stood_at(const struct alert_life *life, double instant)
{
	return life->raised <= instant && (!life->over || life->end > instant);
}

double alert_stood(const struct alert_life *life, double now)
{
	return fmax((life->over ? life->end : now) - life->raised, 0);
}

const struct delivery *alerts_deliveries(const struct alerts *alerts, const char *message,
					 size_t *count)
{
	size_t low = find_delivery(alerts, message);

	*count = 0;
	while (low + *count < alerts->delivery_count &&
	       strcmp(alerts->deliveries[low + *count].message, message) == 0)
		(*count)++;
	return *count ? &alerts->deliveries[low] : NULL;
}
