/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Mishaps of the simulated room; see events.h.
 */
#include "contrib/roomsim/events.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"

static const char *const words[MISHAPS] = {
	[SILENT_PROBE] = "silent",
	[FROZEN_PROBE] = "frozen",
	[CORRUPT_FRAMES] = "corrupt",
	[CHATTERING_PROBE] = "chattering",
	[STUCK_HEATER] = "stuck-heater",
	[DEAD_HEATER] = "dead-heater",
	[DRIFTING_THERMOSTAT] = "drift",
	[LOST_GRADIENT] = "no-gradient",
	[DOOR_OPEN] = "door-open",
	[POWER_CUT] = "power-cut",
	[MISSED_MISTING] = "missed-misting",
	[DRY_AIR] = "dry-air",
};

static const double DAY = 86400;

void event_add(struct events *events, enum mishap mishap, const char *whose, double from,
	       double seconds)
{
	struct event *event;

	events->list = must_resize(events->list, events->count + 1, sizeof(*events->list));
	event = &events->list[events->count++];
	*event = (struct event){ .mishap = mishap, .from = from, .until = from + seconds };
	snprintf(event->whose, sizeof(event->whose), "%s", whose);
}

/* "90s", "2d6h", "-45min", "30": seconds; the whole text or nothing. */
static bool parse_span(const char *text, double *seconds)
{
	static const struct {
		const char *word;
		double seconds;
	} units[] = { { "min", 60 }, { "s", 1 }, { "h", 3600 }, { "d", 86400 } };
	double sign = *text == '-' ? -1 : 1, sum = 0;

	text += *text == '-';
	do {
		char *end;
		double number = strtod(text, &end), unit = 1;

		if (end == text || !isfinite(number) || number < 0)
			return false;
		for (size_t i = 0; i < sizeof(units) / sizeof(units[0]); i++)
			if (strncmp(end, units[i].word, strlen(units[i].word)) == 0) {
				unit = units[i].seconds;
				end += strlen(units[i].word);
				break;
			}
		sum += number * unit;
		text = end;
	} while (*text);
	*seconds = sign * sum;
	return true;
}

static bool mishap_from_word(const char *word, enum mishap *mishap)
{
	for (int i = 0; i < MISHAPS; i++)
		if (strcmp(words[i], word) == 0) {
			*mishap = (enum mishap)i;
			return true;
		}
	return false;
}

bool event_parse(struct events *events, const char *text, double start, char *why, size_t size)
{
	char kind[24], whose[48], from[32], span[32];
	double begin, seconds;
	enum mishap mishap;

	if (sscanf(text, "%23[^:]:%47[^:]:%31[^:]:%31[^:]", kind, whose, from, span) != 4) {
		snprintf(why, size, "'%s' is no fault; one is written KIND:NAME:FROM:DURATION, "
				    "such as stuck-heater:M1:2d:5h", text);
		return false;
	}
	if (!mishap_from_word(kind, &mishap)) {
		snprintf(why, size, "'%s' is no kind of fault; roomsim --help lists them", kind);
		return false;
	}
	if (!parse_span(from, &begin) || !parse_span(span, &seconds) || seconds <= 0) {
		snprintf(why, size, "'%s:%s' is no time and duration; they are written like "
				    "90s, 45min, 6h, 2d6h", from, span);
		return false;
	}
	event_add(events, mishap, whose, start + begin, seconds);
	return true;
}

void events_usual(struct events *events, double start)
{
	/* 1 January 1970 was a Thursday: days since then + 4, by sevens, is
	 * the weekday from Sunday = 0.  The first Friday after two full days. */
	double days = floor(start / DAY) + 2;
	double friday = days + fmod(12 - fmod(days + 4, 7), 7);

	event_add(events, MISSED_MISTING, "T3", (friday + 0.5) * DAY, 3.5 * DAY);
	event_add(events, SILENT_PROBE, "s1c", start + 6.55 * DAY, 5 * 3600);
	event_add(events, STUCK_HEATER, "M1", start + 8.6 * DAY, 7 * 3600);
	event_add(events, DOOR_OPEN, "G2", start + 10.75 * DAY, 14 * 3600);
}

struct events events_between(const struct events *events, double from, double until)
{
	struct events some = { 0 };

	for (size_t i = 0; i < events->count; i++) {
		const struct event *event = &events->list[i];

		if (event->from <= until && event->until > from)
			event_add(&some, event->mishap, event->whose, event->from,
				  event->until - event->from);
	}
	return some;
}

static const struct event *find(const struct events *events, enum mishap mishap,
				const char *name, double now)
{
	for (size_t i = 0; i < events->count; i++) {
		const struct event *event = &events->list[i];

		if (event->mishap == mishap && now >= event->from && now < event->until &&
		    (strcmp(event->whose, "all") == 0 || strcmp(event->whose, name) == 0))
			return event;
	}
	return NULL;
}

bool event_on(const struct events *events, enum mishap mishap, const char *name, double now)
{
	return find(events, mishap, name, now) != NULL;
}

double event_age(const struct events *events, enum mishap mishap, const char *name, double now)
{
	const struct event *event = find(events, mishap, name, now);

	return event ? now - event->from : 0;
}

static int by_onset(const void *a, const void *b)
{
	const struct event *one = a, *other = b;

	return (one->from > other->from) - (one->from < other->from);
}

void events_write(const struct events *events, FILE *out)
{
	struct events sorted = events_between(events, -INFINITY, INFINITY);

	if (sorted.count > 0)
		qsort(sorted.list, sorted.count, sizeof(*sorted.list), by_onset);
	fputs("\"faults\": [", out);
	for (size_t i = 0; i < sorted.count; i++)
		fprintf(out, "%s\n{\"kind\": \"%s\", \"name\": \"%s\", \"from\": %.0f, "
			     "\"until\": %.0f}",
			i ? "," : "", words[sorted.list[i].mishap], sorted.list[i].whose,
			sorted.list[i].from, sorted.list[i].until);
	fputs("]", out);
	events_free(&sorted);
}

void events_free(struct events *events)
{
	free(events->list);
	*events = (struct events){ 0 };
}
