/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A live bus on a pseudo-terminal whose far end the test plays itself, with
 * the time turned by hand, and everything the bus tells written down as text.
 */
#ifndef WARMSIDE_TESTS_BUS_RIG_H
#define WARMSIDE_TESTS_BUS_RIG_H

#include "tests/cm.h"

#include "daemon/bus.h"

enum { RIG_PROBES = 4, RIG_LOG = 8192 };

struct rig {
	struct conf conf;
	struct bus settings;
	struct probe probes[RIG_PROBES];
	char tokens[RIG_PROBES][24];
	struct bus_live *bus;
	int far;                /* the far end; -1 when hung up */
	char folder[40], port[60]; /* port: a link to the near end */
	double mono, due;       /* the time, and what the last step returned */
	char log[RIG_LOG];
};

/* A bus of so many probes; its port exists, and is opened by the first step.
 * Modbus: 9600 8N1 every 10 s, probes at addresses 1, 2, ... with temperature
 * in input register 1 and humidity in 2, tenths.  Lines: tokens "p0", "p1", ...
 * Settings may be changed until rig_start. */
void rig_init(struct rig *rig, enum speaks speaks, size_t probes);
void rig_start(struct rig *rig);
void rig_free(struct rig *rig);

/* A new far end under the same link; the far end hangs up. */
void rig_plug(struct rig *rig);
void rig_unplug(struct rig *rig);

/* One step of the bus at rig->mono; at the time it wanted; at any time. */
void rig_step(struct rig *rig);
void rig_next(struct rig *rig);
void rig_at(struct rig *rig, double mono);

/* The far end says something; returns when the bus could read it all.  Without
 * a step, and with one. */
void rig_put(struct rig *rig, const void *bytes, size_t count);
void rig_say(struct rig *rig, const void *bytes, size_t count);
void rig_say_text(struct rig *rig, const char *text);

/* What the far end hears must be this; nothing. */
void rig_hears(struct rig *rig, const void *bytes, size_t count);
void rig_hears_nothing(struct rig *rig);

/* What the bus has told since the last call must be this: words such as
 * "ask0", "read0=25.0/50.0" ("-" for a value that is absent), "no_answer0",
 * "garbled-" (of no probe), "open", "shut", each followed by a blank. */
#define rig_told(rig, expected)                        \
	do {                                           \
		assert_string_equal((rig)->log, expected); \
		(rig)->log[0] = '\0';                  \
	} while (0)

/* Puts the CRC behind a frame; returns its length with it. */
size_t rig_with_crc(uint8_t *frame, size_t length);

/* The answer of a Modbus probe: its registers 1 and 2, in tenths. */
size_t rig_answer_of(int address, int t, int h, uint8_t frame[9]);

/* The far end hears the request for these two registers; answers it. */
void rig_hears_request(struct rig *rig, int address);
void rig_says_answer(struct rig *rig, int address, int t, int h);

/* A Modbus bus of so many probes, the first of which has just been asked. */
void rig_open_and_ask(struct rig *rig, size_t probes);

#endif
