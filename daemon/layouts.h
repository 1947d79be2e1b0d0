/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where Modbus probes commonly keep temperature and humidity, and which of
 * that the registers read from an unknown probe look like.  Pure.  The table
 * is explained to people in contrib/registers.md.
 */
#ifndef WARMSIDE_DAEMON_LAYOUTS_H
#define WARMSIDE_DAEMON_LAYOUTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "conf/model.h"

enum {
	LAYOUT_PAIRS = 9,       /* the first of the blocks: two registers each */
	LAYOUT_BLOCKS = 15,     /* the others: one register, for thermometers */
	LAYOUT_FITS = 4,        /* most readings of one probe that are offered */
	LAYOUT_INPUT = 0,       /* the block that is asked first by function 04 ... */
	LAYOUT_HOLDING = 1,     /* ... and by function 03 */
};

/* Registers that are read in one question. */
struct layout_block {
	int function;           /* 3 holding, 4 input */
	int first, count;       /* address on the wire, from 0 */
};

extern const struct layout_block layout_blocks[LAYOUT_BLOCKS];

/* What a probe has answered about each block. */
struct layout_raw {
	bool read;
	int16_t word[2];
};

/* One way to understand a probe. */
struct layout {
	struct register_at registers[QUANTITIES];
};

/* All that are known, the most usual first. */
const struct layout *layout_list(size_t *count);

/* True for what a probe in a home reads: 5..45 °C, 10..95 %. */
bool layout_likely(enum quantity quantity, double value);

struct layout_fit {
	const struct layout *layout;
	double value[QUANTITIES]; /* °C, %; of registers that are present */
	bool likely;            /* what a probe in a home reads, not only what one can read */
};

/* How these answers can be understood: values must be plausible (-40..85 °C,
 * 0..100 %), the likely ones (5..45 °C, 10..95 %) come first, then the more usual
 * layout.  The same values in other registers, and unlikely ones beside likely ones, are
 * left out; so are thermometers beside pairs.  Registers that are all nought are
 * taken for unused.  Returns how many of fits are filled. */
size_t layout_fits(const struct layout_raw raw[LAYOUT_BLOCKS], struct layout_fit fits[LAYOUT_FITS]);

/* "input 1 / 10": a register as the configuration writes it. */
enum { LAYOUT_TEXT = 40 };
char *layout_register(const struct register_at *at, char buf[LAYOUT_TEXT]);

#endif
