/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines of an unknown board; see listen.h.
 */
#include "daemon/listen.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/await.h"
#include "daemon/when.h"

/* A board that prints once a minute has printed in so long. */
static const double longest = 65;       /* s */
static const double no_text = 5;        /* s of bytes that make no line: another baud */
static const double ask_again = 2;      /* s */

/* Common practice of boards, no source. */
static const int board_bauds[] = { 9600, 115200, 57600, 38400, 19200, 4800 };

void heard_free(struct heard *heard)
{
	for (size_t i = 0; i < heard->count; i++)
		free(heard->lines[i]);
	*heard = (struct heard){ 0 };
}

/* ---- what was heard ---- */

static int by_name(const void *a, const void *b)
{
	const struct heard_probe *one = a, *other = b;

	return strverscmp(one->values.token, other->values.token);
}

size_t heard_probes(const struct heard *heard, struct heard_probe list[HEARD_PROBES])
{
	size_t count = 0;

	for (size_t i = 0; heard->guessed && i < heard->count; i++) {
		struct line_values values;
		size_t at = 0;

		if (!line_match(&heard->guess.compiled, heard->lines[i], &values))
			continue;
		while (at < count && strcmp(list[at].values.token, values.token) != 0)
			at++;
		if (at == HEARD_PROBES)
			continue;
		list[at].values = values;
		count += at == count;
	}
	qsort(list, count, sizeof *list, by_name);
	return count;
}

bool heard_interval(const struct heard *heard, double *seconds)
{
	struct line_values one, other;

	for (size_t i = 0; heard->guessed && i < heard->count; i++) {
		if (!line_match(&heard->guess.compiled, heard->lines[i], &one))
			continue;
		for (size_t j = i + 1; j < heard->count; j++)
			if (line_match(&heard->guess.compiled, heard->lines[j], &other) &&
			    strcmp(one.token, other.token) == 0) {
				*seconds = heard->times[j] - heard->times[i];
				return true;
			}
	}
	return false;
}

void heard_add(struct heard *heard, const char *line, double mono)
{
	if (heard->count == HEARD_LINES) {
		heard->count--;
		free(heard->lines[0]);
		memmove(heard->lines, heard->lines + 1, heard->count * sizeof *heard->lines);
		memmove(heard->times, heard->times + 1, heard->count * sizeof *heard->times);
	}
	heard->times[heard->count] = mono;
	heard->lines[heard->count++] = must_copy(line);
}

void heard_guess(struct heard *heard)
{
	heard->guessed = guess_template(heard->lines, heard->count, &heard->guess);
}

/* Probes in one burst with a pause behind them are no counter: lines have to come
 * until the end, as evenly as before. */
void heard_settle(struct heard *heard, double mono)
{
	double longest_gap = 0;

	if (!heard->guessed || !guess_counts(&heard->guess, heard->lines, heard->count))
		return;
	for (size_t i = 1; i < heard->count; i++)
		longest_gap = fmax(longest_gap, heard->times[i] - heard->times[i - 1]);
	if (mono - heard->times[heard->count - 1] <= 2 * longest_gap)
		guess_drop_name(&heard->guess);
}

const char *heard_stranger(const struct heard *heard)
{
	struct line_values values;

	for (size_t i = heard->count; heard->guessed && i > 0; i--)
		if (!line_match(&heard->guess.compiled, heard->lines[i - 1], &values))
			return heard->lines[i - 1];
	return NULL;
}

/* ---- hearing ---- */

static void take_lines(struct heard *heard, struct line_assembler *assembler, const char *bytes,
		       size_t count, double mono)
{
	for (size_t at = 0; at < count;) {
		enum line_event event;

		at += line_take(assembler, bytes + at, count - at, &event);
		heard->bad += event == LINE_BAD;
		if (event == LINE_WHOLE)
			heard_add(heard, assembler->text, mono);
		heard->news = heard->news || event == LINE_WHOLE;
	}
}

static bool is_complete(struct heard *heard)
{
	double interval;

	if (heard->news)
		heard_guess(heard);
	heard->news = false;
	return heard->guessed && heard_interval(heard, &interval);
}

static void send_ask(struct port *port, const char *ask)
{
	size_t count = strlen(ask);

	port_write(port, (const uint8_t *)ask, &count);
	if (!count || !strchr("\r\n", ask[count - 1])) {
		count = 1;
		port_write(port, (const uint8_t *)"\n", &count);
	}
}

struct listener {
	struct port *port;
	const char *ask;        /* NULL: nobody is asked */
	struct line_assembler assembler;
	double begun, asked, first_byte;
};

/* Until when to wait for more. */
static double patience(const struct listener *on, const struct heard *heard, double first)
{
	double until = on->begun + (heard->bytes ? longest : first);

	if (heard->bytes && (heard->bad || heard->count == 0) && !heard->guessed)
		until = fmin(until, on->first_byte + no_text);
	return until;
}

/* False when the port is gone. */
static bool take(struct listener *on, struct heard *heard)
{
	uint8_t bytes[256];
	size_t count = sizeof bytes;
	enum port_result result = port_read(on->port, bytes, &count);
	double mono = when_monotonic();

	if (result != PORT_DONE)
		return result == PORT_LATER;
	if (!heard->bytes)
		on->first_byte = mono;
	heard->bytes += count;
	take_lines(heard, &on->assembler, (const char *)bytes, count, mono);
	return true;
}

static enum listen_end listen_on(struct listener *on, double first, int signals,
				 struct heard *heard, char why[PORT_WHY])
{
	for (;;) {
		double until = patience(on, heard, first), due = until;

		if (on->ask && when_monotonic() >= on->asked + ask_again) {
			send_ask(on->port, on->ask);
			on->asked = when_monotonic();
		}
		if (on->ask)
			due = fmin(until, on->asked + ask_again);
		switch (await_input(port_fd(on->port), signals, due)) {
		case AWAITED_STOP:
			return LISTEN_STOPPED;
		case AWAITED_TIME:
			if (when_monotonic() >= until)
				return LISTEN_OVER;
			break;
		case AWAITED_INPUT:
			if (!take(on, heard)) {
				snprintf(why, PORT_WHY, "%.100s has gone away", port_device(on->port));
				return LISTEN_NO_PORT;
			}
			if (is_complete(heard))
				return LISTEN_OVER;
		}
	}
}

enum listen_end listen_run(const struct bus *bus, double first, int signals, struct heard *heard,
			   char why[PORT_WHY])
{
	bool can_ask = bus->ask && !strstr(bus->ask, "{probe}");
	struct listener on = { .port = port_open(bus, why), .ask = can_ask ? bus->ask : NULL,
			       .begun = when_monotonic(), .asked = -INFINITY };
	enum listen_end end;

	*heard = (struct heard){ .baud = bus->baud };
	if (!on.port)
		return LISTEN_NO_PORT;
	/* What is under way may have begun before; asked for, nothing has. */
	on.assembler.skipping = !can_ask;
	end = listen_on(&on, first, signals, heard, why);
	heard_settle(heard, when_monotonic());
	port_close(on.port);
	return end;
}

enum listen_end listen_bauds(const char *port, double first, int signals, struct heard *heard,
			     char why[PORT_WHY])
{
	char *name = must_copy(port);
	enum listen_end end = LISTEN_OVER;

	*heard = (struct heard){ 0 };
	for (size_t i = 0; i < sizeof board_bauds / sizeof *board_bauds; i++) {
		const struct bus bus = { .port = name, .baud = board_bauds[i],
					 .parity = PARITY_NONE, .stop_bits = 1 };

		heard_free(heard);
		end = listen_run(&bus, first, signals, heard, why);
		if (end != LISTEN_OVER || heard->guessed || heard->bytes == 0)
			break;
	}
	free(name);
	return end;
}
