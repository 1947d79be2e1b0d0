/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Text lines on a live bus: listened to as the board prints them, or asked
 * for: the whole board once a round, or each probe by its name in turn.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/bus_live.h"
#include "daemon/lines.h"

/* A board may measure only when asked; a DS18B20 takes 750 ms at 12 bits
 * (DS18B20 data sheet, table 2, from memory).  The line's own time on the wire
 * comes on top. */
static const double reply_timeout = 1;  /* s */
/* Silence that shows that no line is under way. */
static const double quiet = 0.05;       /* s */
/* A board that stops so long within a line has stopped for good. */
static const double half_line = 2;      /* s */
static const char probe_field[] = "{probe}";

enum { REPLY_CHARACTERS = 80 };         /* of a usual answer */

enum style { LISTENS, ASKS_BOARD, ASKS_PROBES };

struct lines_state {
	enum style style;
	struct line_template template;
	struct line_assembler assembler;
	bool fresh;             /* opened a moment ago: a line may be under way */
	double last;            /* mono of the last byte; LISTENS */
	char **asks;            /* what is sent: one a probe, or one for all */
	size_t ask_count;
	bool *heard;            /* ASKS_BOARD: which probes have answered */
	bool board_asked;       /* ASKS_BOARD: in this round */
	size_t member;          /* ASKS_PROBES: who is asked */
	bool garbled, stranger; /* ASKS_PROBES: what has come instead of its answer */
};

/* ---- birth and death ---- */

/* ask with every {probe} replaced, and a line end if it has none. */
static char *ask_text(const char *ask, const char *token)
{
	size_t length = strlen(ask);
	bool ended = length && strchr("\r\n", ask[length - 1]);
	char *text = must_copy("");

	while (*ask) {
		const char *field = strstr(ask, probe_field);
		size_t plain = field ? (size_t)(field - ask) : strlen(ask);
		char *longer = must_print("%s%.*s%s", text, (int)plain, ask, field ? token : "");

		free(text);
		text = longer;
		ask += plain + (field ? strlen(probe_field) : 0);
	}
	if (!ended) {
		char *longer = must_print("%s\n", text);

		free(text);
		text = longer;
	}
	return text;
}

static bool lines_init(struct bus_live *bus, char why[PORT_WHY])
{
	const char *ask = bus->settings->ask;
	struct lines_state *l = must_calloc(1, sizeof *l);

	bus->state = l;
	l->style = !ask ? LISTENS : strstr(ask, probe_field) ? ASKS_PROBES : ASKS_BOARD;
	l->ask_count = l->style == ASKS_PROBES ? bus->probe_count : l->style == ASKS_BOARD;
	l->asks = must_calloc(l->ask_count, sizeof *l->asks);
	for (size_t i = 0; i < l->ask_count; i++)
		l->asks[i] = ask_text(ask, l->style == ASKS_PROBES ? bus_probe(bus, i)->token : "");
	l->heard = must_calloc(bus->probe_count, sizeof *l->heard);
	bus->asks = l->style != LISTENS;
	bus->wire.silence = quiet;
	char *wrong = template_read(bus->settings->line, &l->template);

	if (wrong)
		snprintf(why, PORT_WHY, "its template line %s", wrong);
	free(wrong);
	return l->template.count > 0 && !wrong;
}

static void lines_free(struct bus_live *bus)
{
	struct lines_state *l = bus->state;

	for (size_t i = 0; i < l->ask_count; i++)
		free(l->asks[i]);
	free(l->asks);
	free(l->heard);
	free(l);
}

static void lines_opened(struct bus_live *bus)
{
	struct lines_state *l = bus->state;

	l->assembler = (struct line_assembler){ .skipping = true };
	l->fresh = true;
	l->board_asked = false;
}

/* ---- asking ---- */

static void send_ask(struct bus_live *bus, const char *ask, double mono)
{
	wire_ask(&bus->wire, (const uint8_t *)ask, strlen(ask), REPLY_CHARACTERS, reply_timeout,
		 mono);
}

/* Once a round, for all. */
static bool ask_board(struct bus_live *bus, double mono)
{
	struct lines_state *l = bus->state;

	l->board_asked = !l->board_asked;
	if (!l->board_asked)
		return false;
	for (size_t i = 0; i < bus->probe_count; i++) {
		l->heard[i] = false;
		bus->sink.asked(bus->sink.context, bus->probes[i]);
	}
	send_ask(bus, l->asks[0], mono);
	return true;
}

static bool lines_ask(struct bus_live *bus, double mono)
{
	struct lines_state *l = bus->state;

	if (l->style == ASKS_BOARD)
		return ask_board(bus, mono);
	if (!round_next(&bus->round, &l->member))
		return false;
	l->garbled = false;
	l->stranger = false;
	bus->sink.asked(bus->sink.context, bus->probes[l->member]);
	send_ask(bus, l->asks[l->member], mono);
	return true;
}

/* ---- answers ---- */

/* Whose line it is; false when nobody's. */
static bool find_member(const struct bus_live *bus, const struct line_values *values,
			size_t *member)
{
	const struct lines_state *l = bus->state;

	for (*member = 0; *member < bus->probe_count; ++*member)
		if (!l->template.names_probe ||
		    strcmp(bus_probe(bus, *member)->token, values->token) == 0)
			return true;
	return false;
}

/* Some lines are wired or programmed to repeat what they are asked. */
static bool is_echo(const struct bus_live *bus, const char *line)
{
	const struct lines_state *l = bus->state;
	const char *ask = l->asks[l->style == ASKS_PROBES ? l->member : 0];
	size_t length = strlen(line);

	return strncmp(line, ask, length) == 0 && strspn(ask + length, "\r\n") == strlen(ask + length);
}

/* A line that says there is no value is an answer all the same. */
static bool hand_on(struct bus_live *bus, size_t member, const struct line_values *values,
		    double wall)
{
	struct reading reading = { .probe = bus->probes[member], .time = wall };

	if (!values->has[TEMPERATURE] && !values->has[HUMIDITY]) {
		bus_failed(bus, reading.probe, REFUSED);
		return false;
	}
	memcpy(reading.has, values->has, sizeof reading.has);
	memcpy(reading.value, values->value, sizeof reading.value);
	bus->sink.reading(bus->sink.context, &reading);
	return true;
}

/* One of the board's probes has answered: are there others to wait for? */
static void board_heard(struct bus_live *bus, size_t member, double mono)
{
	struct lines_state *l = bus->state;

	l->heard[member] = true;
	for (size_t i = 0; i < bus->probe_count; i++)
		if (!l->heard[i]) {
			/* A board that never pauses must not put off the next round. */
			if (mono < bus->next_round)
				wire_wait_on(&bus->wire, mono);
			return;
		}
	wire_done(&bus->wire);
}

/* A line names its probe itself, so it counts whenever it comes. */
static void take_any(struct bus_live *bus, const struct line_values *values, struct now now)
{
	size_t member;

	if (!find_member(bus, values, &member)) {
		bus_failed(bus, NO_PROBE, WRONG_ADDRESS);
		return;
	}
	hand_on(bus, member, values, now.wall);
	if (bus->wire.phase == WIRE_WAITING)
		board_heard(bus, member, now.mono);
}

static void take_asked(struct bus_live *bus, const struct line_values *values, struct now now)
{
	struct lines_state *l = bus->state;
	size_t member;

	if (!find_member(bus, values, &member) || member != l->member) {
		l->stranger = true;
		return;
	}
	wire_done(&bus->wire);
	round_result(&bus->round, member,
		     hand_on(bus, member, values, now.wall) ? ANSWERED : DISTURBED);
}

/* A line that cannot be used.  While one probe is asked it may still be
 * followed by the answer. */
static void take_bad(struct bus_live *bus)
{
	struct lines_state *l = bus->state;

	l->garbled = true;
	if (l->style != ASKS_PROBES)
		bus_failed(bus, bus->probe_count == 1 ? bus->probes[0] : NO_PROBE, GARBLED);
}

static void take_line(struct bus_live *bus, const char *line, struct now now)
{
	struct lines_state *l = bus->state;
	struct line_values values;

	if (l->style == ASKS_PROBES && bus->wire.phase != WIRE_WAITING)
		return; /* nobody asked for it */
	if (l->style != LISTENS && is_echo(bus, line))
		return;
	if (!line_match(&l->template, line, &values))
		take_bad(bus);
	else if (l->style == ASKS_PROBES)
		take_asked(bus, &values, now);
	else
		take_any(bus, &values, now);
}

static void lines_input(struct bus_live *bus, const uint8_t *bytes, size_t count, struct now now)
{
	struct lines_state *l = bus->state;
	const char *text = (const char *)bytes;
	enum line_event event;

	if (l->style == LISTENS && now.mono - l->last > half_line)
		line_spoil(&l->assembler);
	l->last = now.mono;
	if (l->fresh && bus->wire.phase == WIRE_WAITING) {
		/* The silence in front of the request showed that no line was under way. */
		l->assembler = (struct line_assembler){ 0 };
		l->fresh = false;
	}
	while (count) {
		size_t taken = line_take(&l->assembler, text, count, &event);

		text += taken;
		count -= taken;
		if (event == LINE_BAD)
			take_bad(bus);
		else if (event == LINE_WHOLE)
			take_line(bus, l->assembler.text, now);
	}
}

static enum cause why_nothing(const struct bus_live *bus, bool half)
{
	const struct lines_state *l = bus->state;

	if (!bus->wire.port)
		return NO_ANSWER;
	if (half || l->garbled || bus->wire.phase == WIRE_QUIET)
		return GARBLED;
	return l->stranger ? WRONG_ADDRESS : NO_ANSWER;
}

static void lines_gave_up(struct bus_live *bus, struct now now)
{
	struct lines_state *l = bus->state;
	bool half = line_spoil(&l->assembler);
	enum cause cause = why_nothing(bus, half);

	(void)now;
	wire_done(&bus->wire);
	if (l->style == ASKS_PROBES) {
		bus_failed(bus, bus->probes[l->member], cause);
		round_result(&bus->round, l->member, cause == GARBLED ? DISTURBED : UNHEARD);
		return;
	}
	for (size_t i = 0; i < bus->probe_count; i++)
		if (!l->heard[i])
			bus_failed(bus, bus->probes[i], NO_ANSWER);
}

const struct talk talk_lines = {
	.init = lines_init, .free = lines_free, .opened = lines_opened, .ask = lines_ask,
	.input = lines_input, .gave_up = lines_gave_up,
};
