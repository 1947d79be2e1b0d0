/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The closed minutes the archivist has not acknowledged yet: a queue for
 * each enclosure, so that a file that cannot be written holds up none but
 * itself, and a bound for all of them together.  Pure.
 */
#ifndef WARMSIDE_DAEMON_BACKLOG_H
#define WARMSIDE_DAEMON_BACKLOG_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/gathered.h"
#include "conf/model.h"
#include "daemon/batch.h"
#include "daemon/minutes.h"

struct backlog;

/* ceiling: bytes it may hold; beyond it the oldest minute is dropped and
 * counted.  Keeps nothing of conf.  Freed by backlog_free; NULL is fine. */
struct backlog *backlog_new(const struct conf *conf, size_t ceiling);
void backlog_free(struct backlog *backlog);

/* From here on indexes are those of the new configuration.  What is queued
 * stays queued with the series it has, also of enclosures that are gone. */
void backlog_reload(struct backlog *backlog, const struct conf *conf);

/* Queues a copy.  enclosure: index into the configuration's enclosures, whose
 * series the minute must have: so minutes of old go in before a reload. */
void backlog_add(struct backlog *backlog, size_t enclosure, const struct closed_minute *minute);

/* Queues a minute as it was gathered before a sudden end; the enclosure may be
 * gone from the configuration, and have had other series. */
void backlog_restore(struct backlog *backlog, const struct gathered_minute *minute);

/* A minute as the file of gathered minutes has it, and all that are queued in
 * that form, one enclosure after the other. */
void backlog_describe(const struct backlog *backlog, size_t enclosure,
		      const struct closed_minute *minute, struct gathered_minute *out);
void backlog_each(const struct backlog *backlog,
		  void (*visit)(void *context, const struct gathered_minute *minute),
		  void *context);

size_t backlog_bytes(const struct backlog *backlog);

/* Minutes dropped since it was made, because there were too many. */
unsigned long backlog_dropped(const struct backlog *backlog);

/* Which queues: all, or only those that were held and whose time has come. */
enum backlog_pick { BACKLOG_ALL, BACKLOG_HELD };

/* Bytes that backlog_fill could hand out at that moment (monotonic, s), and
 * the moment from which a queue that is held has more (+infinity for none). */
size_t backlog_ready(const struct backlog *backlog, double now, enum backlog_pick pick);
double backlog_held_until(const struct backlog *backlog, double now);

/* Writes sections for a batch (batch.h, the head left out) into bytes,
 * together at most `most` of them; returns how many bytes, and in *sections
 * how many sections.  What is handed out stays in the backlog until it is
 * settled or recalled; until then nothing more may be filled. */
size_t backlog_fill(struct backlog *backlog, double now, enum backlog_pick pick,
		    unsigned char *bytes, size_t most, uint32_t *sections);

/* Section number `section` of the batch handed out could not be written: it
 * stays, and is held until that moment. */
void backlog_hold(struct backlog *backlog, uint32_t section, double until);

/* The batch is done: what was handed out and not held is gone. */
void backlog_settle(struct backlog *backlog);

/* The batch was lost: all that was handed out is queued again. */
void backlog_recall(struct backlog *backlog);

/* True when minutes of the enclosure of that name are handed out, not held. */
bool backlog_handed(const struct backlog *backlog, const char *name);

/* True while any queue is held because its file could not be written. */
bool backlog_holding(const struct backlog *backlog);

/* The configuration's index of an enclosure by name; `none` when it has no
 * such enclosure any more. */
size_t backlog_index(const struct backlog *backlog, const char *name, size_t none);

#endif
